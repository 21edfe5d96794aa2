// SPDX-License-Identifier: MIT
// The operator's room: whatever must be done now, one thing at a time, the next act large.
import {useEffect, useRef, useState} from 'preact/hooks';
import {Act} from '../act';
import {LimitBand} from '../band';
import {Drawing} from '../drawing';
import type {Me, Run, Snapshot} from '../snapshot';
import type {Heard} from '../station';
import {causeOf, interruptionOf, minutesSeconds, reading, reasonOf, said, testName, volts, type Words} from '../words';
import {Course, ResultTable} from './course';
import {Prepare, maySign} from './prepare';
import {Trace} from './trace';

type Say = (path: string, body?: object) => Promise<unknown>;

interface Props {
  heard: Heard;
  me: Me;
  words: Words;
  holding: boolean;
  say: Say;
}

export function BenchRoom(props: Props) {
  const snapshot = props.heard.snapshot;
  if (!snapshot) return <section class="card"><h1>{props.words.areaUnknown}</h1><p>{props.words.areaUnknownDo}</p></section>;
  const run = snapshot.run;
  return (
    <div class={!run ? 'bench-room alone' : showsLeads(snapshot) ? 'bench-room leads' : 'bench-room'}>
      <section class="now" aria-live="polite">
        {!props.holding && <p class="watching">{props.words.watching}</p>}
        <Now {...props} snapshot={snapshot} />
      </section>
      {run && <Course run={run} words={props.words} />}
    </div>
  );
}

/** Leads are to be moved, or looked at once more before they are live. */
function showsLeads(snapshot: Snapshot): boolean {
  const {run, question} = snapshot;
  return run?.connection !== null && question !== null && (run?.phase === 'connect' || question.id === 'start');
}

function Now({heard, me, words, holding, say, snapshot}: Props & {snapshot: Snapshot}) {
  const run = snapshot.run;
  const mayAct = holding && heard.fresh;
  if (snapshot.guard.state === 'tripped' || snapshot.guard.state === 'lockout') return <Tripped snapshot={snapshot} me={me} words={words} mayAct={mayAct} say={say} />;
  if (!run) return <Identify snapshot={snapshot} words={words} mayAct={mayAct} say={say} />;
  if (run.phase === 'ended' && run.end) return <Ended run={run} snapshot={snapshot} words={words} mayAct={mayAct} say={say} />;
  if (run.phase === 'identified') return <Prepare key={run.unit.serial} run={run} me={me} words={words} mayAct={mayAct} say={say} />;
  if (snapshot.question) return <Asked key={snapshot.question.number} snapshot={snapshot} run={run} words={words} mayAct={mayAct} say={say} />;
  if (run.phase === 'making_ready' || (run.phase === 'connect' && !snapshot.question)) return <MakingReady snapshot={snapshot} run={run} words={words} />;
  return <Running snapshot={snapshot} run={run} words={words} fresh={heard.fresh} />;
}

function Identify({snapshot, words, mayAct, say}: {snapshot: Snapshot; words: Words; mayAct: boolean; say: Say}) {
  const [serial, setSerial] = useState('');
  // A scanner types fast and ends with Enter; what it sends around the serial (control characters, spaces) is dropped.
  const clean = (text: string) => text.replace(/[\u0000-\u001f\u007f]/g, '').trim().slice(0, 80);
  const field = useRef<HTMLInputElement>(null);
  // Ready for the scanner as soon as this panel has the controls.
  useEffect(() => { if (mayAct) field.current?.focus(); }, [mayAct]);
  return (
    <form class="card" onSubmit={(event) => { event.preventDefault(); if (clean(serial)) void say('/api/unit', {serial: clean(serial)}); setSerial(''); }}>
      <h1>{words.identify}</h1>
      <p>{words.identifyDo}</p>
      <label>{words.serial}<input class="serial" name="serial" value={serial} maxLength={200} autocomplete="off" ref={field} disabled={!mayAct}
        onInput={(event) => setSerial(event.currentTarget.value.slice(0, 200))} /></label>
      <button type="submit" class="next-act" disabled={!mayAct || !clean(serial)}>{words.find}</button>
      {snapshot.units.length > 0 && <h2>{words.list}</h2>}
      <ul class="units">
        {snapshot.units.map((unit) => (
          <li key={unit.serial}><button type="button" disabled={!mayAct} onClick={() => void say('/api/unit', {serial: unit.serial})}>
            <b>{unit.serial}</b><span>{said(words, unit.rating)}</span><span>{unit.order}</span></button></li>
        ))}
      </ul>
    </form>
  );
}

/** Questions whose first answer is not the safe one: none of their answers is where Enter or a hasty hand would be. */
const weighed = new Set(['resume.untouched']);

function Asked({snapshot, run, words, mayAct, say}: {snapshot: Snapshot; run: Run; words: Words; mayAct: boolean; say: Say}) {
  const question = snapshot.question;
  const [answer, setAnswer] = useState('');
  if (!question) return null;
  const leads = showsLeads(snapshot);
  const resumed = run.ways.find((way) => way.key === run.way);
  return (
    <div class={leads && run.connection ? 'card asking with-leads' : 'card asking'}>
      <div class="asked-words">
      {leads && <p class="asking-step">{words.step} {run.step} {words.of} {run.of}: {testName(words, run.steps[run.step - 1]?.test ?? '')}</p>}
      {question.id === 'start' ? <h1 class="asked">{said(words, question.text)}</h1> : <>
      <h1>{leads ? said(words, run.connection?.name ?? '') : words.question}</h1>
      <p class="asked">{question.id === 'resume.untouched' ? words.untouched : said(words, question.text)}</p>
      </>}
      {question.id === 'resume.untouched' && resumed && <p>{resumed.stands} {words.of} {resumed.steps} {words.stepsStand}. {interruptionOf(resumed.words, words)}</p>}
      {question.choices.length > 0 ? (
        <div class="acts-row">
          {question.choices.map((choice, index) => (
            <Act key={choice} large={index === 0 && !weighed.has(question.id)} disabled={!mayAct}
              onAct={() => say('/api/answer', {number: question.number, answer: choice})}>{said(words, choice)}</Act>
          ))}
        </div>
      ) : (
        <form onSubmit={(event) => { event.preventDefault(); if (answer.trim()) void say('/api/answer', {number: question.number, answer: answer.trim()}); setAnswer(''); }}>
          <input aria-label={said(words, question.text)} value={answer} maxLength={500} onInput={(event) => setAnswer(event.currentTarget.value)} disabled={!mayAct} />
          <button type="submit" class="next-act" disabled={!mayAct || !answer.trim()}>{words.send}</button>
        </form>
      )}
      </div>
      {leads && run.connection && <Drawing connection={run.connection} unit={run.unit} words={words} />}
    </div>
  );
}

function MakingReady({snapshot, run, words}: {snapshot: Snapshot; run: Run; words: Words}) {
  const missing = snapshot.guard.missing;
  return (
    <div class="card">
      <h1>{words.makingReady}</h1>
      {missing.length === 0 ? <p class="ready">{words.allReady} {said(words, snapshot.guard.words)}</p> : (
        <ol class="missing">
          {missing.map((condition, index) => (
            <li key={condition.number + condition.words} class={index === 0 ? 'nearest' : ''}>
              {index === 0 && <span class="tag">{words.nearest}</span>}{said(words, condition.words)}
            </li>
          ))}
        </ol>
      )}
      {snapshot.guard.left_s > 0 && <p class="left">{said(words, snapshot.guard.words)}: {minutesSeconds(snapshot.guard.left_s)} {words.left}</p>}
      {run.connection && <Drawing connection={run.connection} unit={run.unit} words={words} />}
    </div>
  );
}

function Running({snapshot, run, words, fresh}: {snapshot: Snapshot; run: Run; words: Words; fresh: boolean}) {
  const live = run.reading;
  return (
    <div class="card running">
      <h1>{words.step} {run.step} {words.of} {run.of}: {testName(words, run.steps[run.step - 1]?.test ?? '')}</h1>
      <p class="reading" aria-label={live?.name ?? ''}>{live && fresh ? reading(live.value, live.unit) : '–'}</p>
      <p class="reading-name">{said(words, live?.name ?? snapshot.guard.words)}</p>
      {live && fresh && <LimitBand live={live} words={words} />}
      {run.hold_left_s !== null && run.hold_left_s > 0 && <p class="left">{minutesSeconds(run.hold_left_s)} {words.left}</p>}
      {run.act && <p class="act-now">{said(words, run.act)}</p>}
      <Trace reading={live} step={run.step} scale={snapshot.time_scale} />
      {run.connection && (
        <p class="live-list"><b>{words.live}:</b> {run.connection.live.filter((entry) => entry.volts_to_earth > 0).map((entry) => `${entry.terminal} ${volts(entry.volts_to_earth)}`).join(', ')}</p>
      )}
    </div>
  );
}

const named = (tests: string[], words: Words) => tests.map((test) => testName(words, test)).join(', ');

function Tripped({snapshot, me, words, mayAct, say}: {snapshot: Snapshot; me: Me; words: Words; mayAct: boolean; say: Say}) {
  const [reason, setReason] = useState('');
  const trip = snapshot.guard.trip;
  const locked = snapshot.guard.state === 'lockout';
  const end = snapshot.run?.end;
  return (
    <div class="card tripped" role="alert">
      <h1>{locked ? words.lockout : words.tripped}</h1>
      <p class="proof">{snapshot.area.earth_proven && !locked ? words.areaBarredDo : words.areaNotProvenDo}</p>
      {trip && <p class="cause"><b>{words.cause}:</b> {causeOf(trip.first, words)} (I{String(trip.first.number).padStart(2, '0')})
        {trip.later.length > 0 && <> · {words.after}: {trip.later.map((entry) => causeOf(entry, words)).join(', ')}</>}</p>}
      {snapshot.guard.missing.length > 0 && <p class="still"><b>{words.makingReady}:</b> {snapshot.guard.missing.map((entry) => said(words, entry.words)).join('; ')}</p>}
      {end && <p class="left-over"><b>{words.finished}:</b> {named(end.finished, words) || words.none} · <b>{words.repeatTests}:</b> {named(end.repeat, words) || words.none}</p>}
      <p>{locked ? words.backLockout : words.back}</p>
      {!locked && <Act large disabled={!mayAct} onAct={() => say('/api/acknowledge')}>{words.acknowledge}</Act>}
      {locked && maySign(me) && (
        <form onSubmit={(event) => { event.preventDefault(); if (reason.trim()) void say('/api/lockout/release', {reason: reason.trim()}); }}>
          <label>{words.lockoutReason}<input name="lockout-reason" value={reason} maxLength={300} disabled={!mayAct} onInput={(event) => setReason(event.currentTarget.value)} /></label>
          <button type="submit" class="next-act" disabled={!mayAct || !reason.trim()}>{words.releaseLockout}</button>
        </form>
      )}
    </div>
  );
}

function Ended({run, snapshot, words, mayAct, say}: {run: Run; snapshot: Snapshot; words: Words; mayAct: boolean; say: Say}) {
  const end = run.end;
  if (!end) return null;
  const ending = {release: [words.release, words.releaseDo], hold: [words.hold, words.holdDo], repeat: [words.repeat, words.repeatDo]}[end.disposition];
  // Nothing simulated is ever called released, however well it went.
  const simulatedRelease = snapshot.simulated && end.disposition === 'release';
  return (
    <div class={'card ended ' + end.disposition}>
      <h1 class="disposition">{simulatedRelease ? words.simulatedPass : ending[0]}</h1>
      <p class="cause">{reasonOf(end.reason, words)}</p>
      <p class="after">{simulatedRelease ? words.simulatedEnd : ending[1]}</p>
      {!end.record_kept && <p class="refused" role="alert">{words.recordLost}</p>}
      <div class="acts-row">
        <Act large disabled={!mayAct} onAct={() => say('/api/unit/clear')}>{words.next}</Act>
        {end.disposition !== 'release' && <Act large={false} disabled={!mayAct} onAct={() => say('/api/unit', {serial: run.unit.serial})}>{words.sameUnit}</Act>}
      </div>
      {end.repeat.length > 0 && <p><b>{words.finished}:</b> {named(end.finished, words) || words.none} · <b>{words.repeatTests}:</b> {named(end.repeat, words)}</p>}
      {run.warnings.length > 0 && <ul class="warnings" aria-label={words.warnings}>{run.warnings.map((text) => <li key={text}>{text}</li>)}</ul>}
      <ResultTable results={run.results} words={words} />
    </div>
  );
}
