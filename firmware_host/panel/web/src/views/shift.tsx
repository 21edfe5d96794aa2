// SPDX-License-Identifier: MIT
import type {Heard} from '../station';
import type {Words} from '../words';

/** The units of this shift: done, held and why, to be repeated, minutes each. */
export function Shift({heard, words}: {heard: Heard; words: Words}) {
  const lines = heard.snapshot?.shift ?? [];
  const count = (word: string) => lines.filter((line) => line.disposition === word && !(line.simulated && word === 'release')).length;
  return (
    <section class="card">
      <h1>{words.shift}</h1>
      <p class="counts">
        <b>{count('release')}</b> {words.release} · <b>{count('hold')}</b> {words.hold} · <b>{count('repeat')}</b> {words.repeat}
      </p>
      <div class="table-frame" tabIndex={0} role="region" aria-label={words.shift}>
        <table>
          <thead><tr><th scope="col">{words.unit}</th><th scope="col">{words.outcome}</th><th scope="col">{words.reason}</th><th scope="col">{words.minutes}</th></tr></thead>
          <tbody>
            {lines.map((line) => (
              <tr key={line.record_id}><th scope="row">{line.serial}</th><td>{line.outcome} · {line.simulated && line.disposition === 'release' ? words.simulatedShort : line.disposition}</td><td>{line.reason}</td><td class="number">{line.minutes.toFixed(1)}</td></tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}
