// SPDX-License-Identifier: MIT
// Before a unit is begun: is it this one, what will be done with it, what was done to it, is the bench proven for record.
import {useEffect, useState} from 'preact/hooks';
import {Act} from '../act';
import type {Me, ReworkRule, Reworks, Run, Way} from '../snapshot';
import {look} from '../station';
import {interruptionOf, reasonOf, said, testName, type Words} from '../words';

type Say = (path: string, body?: object) => Promise<unknown>;

interface Props {
  run: Run;
  me: Me;
  words: Words;
  mayAct: boolean;
  say: Say;
}

export function maySign(me: Me): boolean {
  return me.role === 'quality' || me.role === 'technician';
}

function stageName(words: Words, stage: string): string {
  const names: Record<string, string> = words.stages;
  return names[stage] ?? stage.replace(/_/g, ' ');
}

function WayButton({way, chosen, stages, words, mayAct, say}: {way: Way; chosen: boolean; stages: boolean; words: Words; mayAct: boolean; say: Say}) {
  const title = {
    whole: words.wayWhole,
    resume: words.wayResume,
    after: `${words.wayAfter} ${said(words, way.words)}`,
  }[way.kind];
  return (
    <button type="button" class="way" aria-pressed={chosen} disabled={!mayAct} onClick={() => { if (!chosen) void say('/api/unit/way', {way: way.key}); }}>
      <span class="way-mark" aria-hidden="true">{chosen ? '●' : '○'}</span>
      <span>
        <b>{stages ? `${stageName(words, way.stage)}: ` : ''}{title}</b>
        <span class="quiet">{way.kind === 'resume' ? `${way.stands} ${words.of} ${way.steps} ${words.stepsStand}. ${interruptionOf(way.words, words)}` : `${way.steps} ${words.steps}`}</span>
        {way.waits && <span class="quiet">{words.waits} {said(words, way.waits)}</span>}
      </span>
    </button>
  );
}

/** What was done to the unit is kept for good and opens tests again: chosen, read, then kept; it cannot be taken back. */
function Rework({run, words, mayAct, say, close}: {run: Run; words: Words; mayAct: boolean; say: Say; close: () => void}) {
  const [rules, setRules] = useState<ReworkRule[]>([]);
  const [done, setDone] = useState('');
  const [more, setMore] = useState('');
  useEffect(() => { look<Reworks>('/api/reworks').then((answer) => setRules(answer.reworks), () => setRules([])); }, []);
  const rule = rules.find((one) => one.done === done);
  const opens = rule ? (rule.repeat.length === 0 ? words.everything : rule.repeat.map((test) => testName(words, test)).join(', ')) : '';
  return (
    <form class="rework" onSubmit={(event) => { event.preventDefault(); if (rule) void say('/api/unit/rework', {serial: run.unit.serial, done, words: more.trim()}).then(close); }}>
      <h2>{words.reworkTitle}</h2>
      <label>{words.reworkDone}<select name="done" value={done} disabled={!mayAct} onChange={(event) => setDone(event.currentTarget.value)}>
        <option value="">{words.choose}</option>
        {rules.map((one) => <option key={one.done} value={one.done}>{said(words, one.done)}</option>)}
      </select></label>
      <label>{words.reworkMore}<input name="more" value={more} maxLength={300} disabled={!mayAct} onInput={(event) => setMore(event.currentTarget.value)} /></label>
      {rule && <p class="rework-opens"><b>{words.reworkOpens}:</b> {opens}{rule.before && ` · ${said(words, rule.before)}`}</p>}
      <div class="acts-row">
        <button type="submit" disabled={!mayAct || !rule}>{words.reworkKeep}</button>
        <button type="button" onClick={close}>{words.notNow}</button>
      </div>
    </form>
  );
}

export function Prepare({run, me, words, mayAct, say}: Props) {
  const [reason, setReason] = useState('');
  const [forRecord, setForRecord] = useState(false);
  const [reworking, setReworking] = useState(false);
  const needs = run.needs_a_reason;
  const chosen = run.ways.find((way) => way.key === run.way);
  const waits = chosen?.waits ?? '';
  // What was interrupted or opened again first: that is what a person comes back for.
  const ways = [...run.ways].sort((a, b) => Number(a.kind === 'whole') - Number(b.kind === 'whole'));
  const asksRecord = forRecord && !run.why_not_for_record;
  const mayBegin = mayAct && !waits && !reworking && (!needs || (maySign(me) && reason.trim() !== ''));
  const begin = () => say('/api/start', {serial: run.unit.serial, ...(needs ? {reason: reason.trim()} : {}), ...(asksRecord ? {for_record: true} : {})});
  return (
    <div class="card planned">
      <h1>{run.unit.serial}</h1>
      <p class="plate">{said(words, run.unit.rating)}</p>
      <p>{run.unit.design} · {run.unit.order} · {run.unit.customer}</p>
      {needs && <p class="refused" role="alert">{reasonOf(needs, words)}. {maySign(me) ? words.needsReason : words.needsSigner}</p>}
      {needs && maySign(me) && <label>{words.signedReason}<input name="reason" value={reason} maxLength={300} disabled={!mayAct} onInput={(event) => setReason(event.currentTarget.value)} /></label>}
      {waits && <p class="refused" role="alert">{words.waits} {said(words, waits)}</p>}
      <p>{words.planDo}</p>
      <div class="acts-row">
        <Act large disabled={!mayBegin} onAct={begin}>{words.plate}</Act>
        <Act large={false} disabled={!mayAct} onAct={() => say('/api/unit/clear')}>{words.otherUnit}</Act>
      </div>
      {reworking ? <Rework run={run} words={words} mayAct={mayAct} say={say} close={() => setReworking(false)} /> : (
        <>
          {run.ways.length > 1 && (
            <div class="ways" role="group" aria-label={words.waysTitle}>
              <h2>{words.waysTitle}</h2>
              {ways.map((way) => <WayButton key={way.key} way={way} chosen={way.key === run.way} stages={new Set(run.ways.map((one) => one.stage)).size > 1} words={words} mayAct={mayAct} say={say} />)}
            </div>
          )}
          <div class="acts-row">
            <button type="button" class="for-record" aria-pressed={asksRecord} disabled={!mayAct || !!run.why_not_for_record} onClick={() => setForRecord(!forRecord)}>
              <span aria-hidden="true">{asksRecord ? '☑' : '☐'}</span> {words.forRecord}</button>
            <button type="button" class="was-reworked" disabled={!mayAct} onClick={() => setReworking(true)}>{words.wasReworked}</button>
          </div>
          {run.why_not_for_record && <p class="quiet not-for-record">{words.notForRecord} {said(words, run.why_not_for_record)}.</p>}
        </>
      )}
    </div>
  );
}
