// SPDX-License-Identifier: MIT
import {useState} from 'preact/hooks';
import type {RecordLine, Records as Reply} from '../snapshot';
import {look} from '../station';
import {said, type Words} from '../words';
import {Chart} from './chart';

/** What was measured: search by serial, one record's table. */
export function Records({words}: {words: Words}) {
  const [serial, setSerial] = useState('');
  const [outcome, setOutcome] = useState('');
  const [from, setFrom] = useState('');
  const [to, setTo] = useState('');
  const [lines, setLines] = useState<RecordLine[] | null>(null);
  const [shown, setShown] = useState<{id: string; text: string} | null>(null);
  const [chart, setChart] = useState(false);
  const [wrong, setWrong] = useState('');
  const find = (event: Event) => {
    event.preventDefault();
    look<Reply>('/api/records?' + new URLSearchParams({serial: serial.slice(0, 200), outcome, from, to}).toString()).then((answer) => { setLines(answer.records); setShown(null); setWrong(''); }, (error: unknown) => setWrong(String(error)));
  };
  const open = (id: string) => look<{text: string}>('/api/record?id=' + encodeURIComponent(id)).then((answer) => setShown({id, text: answer.text}), (error: unknown) => setWrong(String(error)));
  return (
    <section class="card">
      <div class="room-head">
        <h1>{words.roomRecords}</h1>
        <button type="button" aria-pressed={!chart} onClick={() => setChart(false)}>{words.search}</button>
        <button type="button" aria-pressed={chart} onClick={() => setChart(true)}>{words.chart}</button>
      </div>
      {chart ? <Chart words={words} /> : <>
      <form class="row" onSubmit={find}>
        <label>{words.serial}<input name="find" value={serial} maxLength={200} onInput={(event) => setSerial(event.currentTarget.value)} /></label>
        <label>{words.outcome}<select name="outcome" value={outcome} onChange={(event) => setOutcome(event.currentTarget.value)}>
          <option value="">{words.any}</option>
          {['PASS', 'FAIL', 'INVALID', 'ABORTED', 'NOT_RUN'].map((one) => <option key={one} value={one}>{said(words, one.replace('_', ' '))}</option>)}
        </select></label>
        <label>{words.fromDay}<input name="from" type="date" value={from} onInput={(event) => setFrom(event.currentTarget.value)} /></label>
        <label>{words.toDay}<input name="to" type="date" value={to} onInput={(event) => setTo(event.currentTarget.value)} /></label>
        <button type="submit">{words.search}</button>
      </form>
      {wrong && <p class="refused" role="alert">{wrong}</p>}
      {lines?.length === 0 && <p>{words.nothingFound}</p>}
      {lines && lines.length > 0 && (
        <ul class="units">
          {lines.map((line) => (
            <li key={line.record_id}><button type="button" onClick={() => void open(line.record_id)}>
              <b>{line.serial}</b><span>{line.started.slice(0, 16).replace('T', ' ')} UTC</span><span>{said(words, line.outcome)} · {line.simulated ? words.simulatedShort : said(words, line.disposition)}</span></button></li>
          ))}
        </ul>
      )}
      {shown && <p><a class="button" href={'/api/report?id=' + encodeURIComponent(shown.id)} download>{words.report}</a></p>}
      {shown && <pre class="record" tabIndex={0}>{shown.text}</pre>}
      </>}
    </section>
  );
}
