// SPDX-License-Identifier: MIT
// One result over the newest units of a design, each with the limit it was judged by. Drawn, and the same as a table.
import {useEffect, useRef, useState} from 'preact/hooks';
import uPlot from 'uplot';
import type {Chart as Reply, ChartPoint} from '../snapshot';
import {look} from '../station';
import {quantity, reading, testName, type Words} from '../words';

function named(what: string, words: Words): string {
  const [test = '', name = '', at = ''] = what.split('/');
  return `${testName(words, test)}: ${quantity(words, name.replace(/_/g, ' '))}${at ? `, ${at}` : ''}`;
}

const unitOf = (unit: string) => (unit === '1' ? '' : unit);

export function Chart({words}: {words: Words}) {
  const [design, setDesign] = useState('');
  const [what, setWhat] = useState('');
  const [reply, setReply] = useState<Reply | null>(null);
  const [wrong, setWrong] = useState('');
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => {
    let there = true;
    look<Reply>('/api/chart?' + new URLSearchParams({design, what}).toString()).then((answer) => {
      if (there) { setReply(answer); setWrong(''); }
    }, (error: unknown) => { if (there) setWrong(String(error)); });
    return () => { there = false; };
  }, [design, what]);
  useEffect(() => {
    if (!frame.current || !reply || reply.points.length === 0) return undefined;
    const points = reply.points;
    // A limit's line runs from edge to edge, as one point alone would show none.
    const limits = (of: (point: ChartPoint) => number | null) => [of(points[0]!), ...points.map(of), of(points[points.length - 1]!)];
    const line = (stroke: string, dash: number[]) => ({stroke, width: 3, dash, points: {show: false}});
    const plot = new uPlot({
      width: Math.max(300, frame.current.clientWidth), height: 300, legend: {show: false}, cursor: {show: false},
      scales: {x: {time: false, range: () => [0, points.length + 1]}},
      axes: [{label: words.unitsInOrder, size: 50, font: '18px sans-serif', labelFont: '18px sans-serif', incrs: [1, 2, 5, 10, 20]}, {size: 110, font: '18px sans-serif'}],
      series: [{}, {stroke: '#14425e', width: 2, points: {show: true, size: 12, fill: '#14425e'}}, line('#8f0d0d', [14, 8]), line('#8f0d0d', [14, 8])],
    }, [[0, ...points.map((_, index) => index + 1), points.length + 1], [null, ...points.map((point) => point.value), null],
      limits((point) => point.lower), limits((point) => point.upper)], frame.current);
    return () => plot.destroy();
  }, [reply, words]);
  if (wrong) return <p class="refused" role="alert">{wrong}</p>;
  if (!reply) return <p>…</p>;
  if (reply.designs.length === 0) return <p>{words.nothingFound}</p>;
  const show = (value: number | null) => (value === null ? '–' : reading(value, unitOf(reply.unit)));
  return (
    <div class="chart">
      <div class="row">
        <label>{words.design}<select name="design" value={reply.design} onChange={(event) => { setDesign(event.currentTarget.value); setWhat(''); }}>
          {reply.designs.map((one) => <option key={one} value={one}>{one}</option>)}</select></label>
        <label>{words.what}<select name="what" value={reply.what} onChange={(event) => setWhat(event.currentTarget.value)}>
          {reply.whats.map((one) => <option key={one} value={one}>{named(one, words)}</option>)}</select></label>
      </div>
      <p class="chart-key">● {words.value}{unitOf(reply.unit) && ` (${unitOf(reply.unit)})`} · – – {words.limit}</p>
      <div class="plot" ref={frame} aria-hidden="true" />
      <div class="table-frame" tabIndex={0} role="region" aria-label={words.chart}>
        <table>
          <caption>{named(reply.what, words)}</caption>
          <thead><tr><th scope="col" class="number">#</th><th scope="col">{words.unit}</th><th scope="col">UTC</th><th scope="col" class="number">{words.value}</th><th scope="col" class="number">{words.atLeast}</th><th scope="col" class="number">{words.atMost}</th></tr></thead>
          <tbody>
            {reply.points.map((point, index) => (
              <tr key={point.record_id} class={point.failed ? 'bad' : ''}><td class="number">{index + 1}</td><th scope="row">{point.serial}</th><td>{point.started.slice(0, 16).replace('T', ' ')}</td>
                <td class="number">{show(point.value)}</td><td class="number">{show(point.lower)}</td><td class="number">{show(point.upper)}</td></tr>
            ))}
          </tbody>
        </table>
      </div>
    </div>
  );
}
