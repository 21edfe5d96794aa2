// SPDX-License-Identifier: MIT
import type {Heard} from '../station';
import {said, type Words} from '../words';

/** The units of this shift: done, held and why, to be repeated, minutes each. */
export function Shift({heard, words}: {heard: Heard; words: Words}) {
  const lines = heard.snapshot?.shift ?? [];
  const count = (word: string) => lines.filter((line) => line.disposition === word && !(line.simulated && word === 'release')).length;
  const simulated = lines.filter((line) => line.disposition === 'release' && line.simulated).length;
  return (
    <section class="card">
      <h1>{words.shift}</h1>
      <p class="counts">
        <b>{count('release')}</b> {words.release} · <b>{count('hold')}</b> {words.hold} · <b>{count('repeat')}</b> {words.repeat}
        {simulated > 0 && <> · <b>{simulated}</b> {words.simulatedPass}</>}
      </p>
      <div class="table-frame" tabIndex={0} role="region" aria-label={words.shift}>
        <table>
          <thead><tr><th scope="col">{words.unit}</th><th scope="col">{words.outcome}</th><th scope="col">{words.reason}</th><th scope="col" class="number">{words.minutes}</th></tr></thead>
          <tbody>
            {lines.map((line) => (
              <tr key={line.record_id}><th scope="row">{line.serial}</th><td>{said(words, line.outcome)} · {line.simulated && line.disposition === 'release' ? words.simulatedShort : said(words, line.disposition)}</td><td>{said(words, line.reason)}</td><td class="number">{line.minutes.toFixed(1)}</td></tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}
