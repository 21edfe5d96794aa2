// SPDX-License-Identifier: MIT
import {useEffect, useState} from 'preact/hooks';
import type {LimitLine} from '../snapshot';
import {look, type Heard} from '../station';
import {limitOf, quantity, testName, type Words} from '../words';

/** The limit sheet of the unit on the bench: each number, how it came about, from where. */
export function Limits({heard, words}: {heard: Heard; words: Words}) {
  const serial = heard.snapshot?.run?.unit.serial ?? '';
  const [lines, setLines] = useState<LimitLine[]>([]);
  useEffect(() => {
    if (!serial) { setLines([]); return; }
    look<{lines: LimitLine[]}>('/api/limits').then((answer) => setLines(answer.lines), () => setLines([]));
  }, [serial]);
  return (
    <section class="card">
      <h1>{words.roomLimits} {serial}</h1>
      {!serial && <p>{words.identify}</p>}
      <div class="table-frame limit-sheet" tabIndex={0} role="region" aria-label={words.roomLimits}>
        <table>
          <thead><tr><th scope="col">{words.test}</th><th scope="col">{words.what}</th><th scope="col" class="number">{words.limit}</th><th scope="col">{words.origin}</th><th scope="col">{words.source}</th></tr></thead>
          <tbody>
            {lines.map((line, index) => <tr key={index}><th scope="row">{testName(words, line.test)}</th><td>{quantity(words, line.quantity)}</td><td class="number">{limitOf(words, line.limit)}</td><td>{line.origin}</td><td>{line.source}</td></tr>)}
          </tbody>
        </table>
      </div>
    </section>
  );
}
