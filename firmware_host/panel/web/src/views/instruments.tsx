// SPDX-License-Identifier: MIT
import {useEffect, useState} from 'preact/hooks';
import type {InstrumentLine, Instruments as Reply} from '../snapshot';
import {look} from '../station';
import type {Words} from '../words';

/** For the technician: who answers, how fast, what is wrong, what is due. */
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
          <thead><tr><th scope="col">{words.instrument}</th><th scope="col">{words.state}</th><th scope="col">ms</th><th scope="col">{words.calibrationDue}</th></tr></thead>
          <tbody>
            {lines.map((line) => (
              <tr key={line.name} class={line.ok || !line.at ? '' : 'bad'}><th scope="row">{line.name}</th><td>{line.words}</td><td class="number">{line.round_trip_ms === null ? '–' : line.round_trip_ms.toFixed(1)}</td><td>{line.calibration_due}</td></tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}
