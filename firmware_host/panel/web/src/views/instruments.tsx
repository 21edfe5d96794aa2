// SPDX-License-Identifier: MIT
import {useEffect, useState} from 'preact/hooks';
import type {InstrumentLine, Instruments as Reply} from '../snapshot';
import {look} from '../station';
import {reading, type Words} from '../words';

const ms = (value: number | null) => (value === null ? '–' : value.toFixed(value < 10 ? 1 : 0));
const clock = (utc: string) => (utc ? `${utc.slice(11, 19)} UTC` : '–');

/** For the technician: who answers, how fast, what is wrong, what is due; and what each reads while no unit runs. */
export function Instruments({words}: {words: Words}) {
  const [lines, setLines] = useState<InstrumentLine[]>([]);
  const [guard, setGuard] = useState<Reply['guard'] | null>(null);
  const [wrong, setWrong] = useState('');
  useEffect(() => {
    let there = true;
    const ask = () => look<Reply>('/api/instruments').then((answer) => { if (there) { setLines(answer.instruments); setGuard(answer.guard); setWrong(''); } },
      (error: unknown) => { if (there) setWrong(String(error)); });
    void ask();
    const timer = window.setInterval(() => void ask(), 2000);
    return () => { there = false; window.clearInterval(timer); };
  }, []);
  return (
    <section class="card">
      <h1>{words.roomInstruments}</h1>
      {wrong && <p class="refused" role="alert">{wrong}</p>}
      {guard && <p>{words.guardTurns}: {guard.turns.toLocaleString()} · {words.guardLate}: {guard.overruns.toLocaleString()}</p>}
      <div class="table-frame" tabIndex={0} role="region" aria-label={words.roomInstruments}>
        <table>
          <thead><tr><th scope="col">{words.instrument}</th><th scope="col">{words.state}</th><th scope="col" class="number">{words.answers}</th><th scope="col" class="number">{words.faults}</th><th scope="col" class="number">{words.roundTrip}</th><th scope="col">{words.calibrationDue}</th></tr></thead>
          <tbody>
            {lines.map((line) => (
              <tr key={line.name} class={line.ok || !line.at ? '' : 'bad'}>
                <th scope="row">{line.name}</th><td>{line.words}</td>
                <td class="number">{line.answered} / {line.asked}</td>
                <td class="number">{line.silent + line.garbled + line.refused + line.lost === 0 ? '0'
                  : [[line.silent, words.silent], [line.garbled, words.garbled], [line.refused, words.refusedCount], [line.lost, words.lostLink]].filter(([count]) => count !== 0).map(([count, name]) => `${count} ${name}`).join(', ')}</td>
                <td class="number">{ms(line.fastest_ms)} / {ms(line.mean_ms)} / {ms(line.slowest_ms)} ms</td>
                <td>{line.calibration_due}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <h2>{words.liveValues}</h2>
      <div class="live-values">
        {lines.map((line) => (
          <section key={line.name} class="instrument-values" aria-label={line.name}>
            <h3>{line.name}</h3>
            <p class="quiet">{words.asOf} {clock(line.values_at)}</p>
            {line.values.length === 0 ? <p>{words.notRead}</p> : (
              <dl>
                {line.values.map((value) => (
                  <div key={value.name}><dt>{value.name.replace(/_/g, ' ')}</dt><dd>{value.value === null ? '–' : value.unit === '1' && Number.isInteger(value.value) ? value.value : reading(value.value, value.unit === '1' ? '' : value.unit)}
                    <span class="raw">{value.raw}</span></dd></div>
                ))}
              </dl>
            )}
          </section>
        ))}
      </div>
    </section>
  );
}
