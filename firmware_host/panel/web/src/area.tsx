// SPDX-License-Identifier: MIT
// The band that is always there: what may be believed of the area, in word, mark and colour; never hidden by anything.
import type {Heard} from './station';
import {amperes, volts, type Words} from './words';

type Kind = 'unknown' | 'earthed' | 'barred' | 'soon' | 'live' | 'doubt' | 'out';

export function areaKind(heard: Heard): Kind {
  const snapshot = heard.snapshot;
  if (!snapshot || !heard.fresh || snapshot.area.link_lost) return 'unknown';
  // Earthed after a trip: proven so, but nobody goes in before it is acknowledged.
  if (snapshot.guard.state === 'tripped' && snapshot.area.status !== 'in_operation') return snapshot.area.earth_proven ? 'barred' : 'doubt';
  switch (snapshot.area.status) {
    case 'in_operation':
      return 'live';
    case 'ready_to_switch_on':
      return snapshot.guard.state === 'lockout' ? 'doubt' : 'soon';
    case 'ready_for_operation':
      return snapshot.area.earth_proven ? 'earthed' : 'doubt';
    case 'out_of_operation':
      return snapshot.area.earth_proven ? 'out' : 'doubt';
  }
}

function Mark({kind}: {kind: Kind}) {
  const shapes: Record<Kind, string> = {
    earthed: 'M32 6 v22 M12 28 h40 M19 38 h26 M26 48 h12',
    barred: 'M32 6 v16 M12 22 h40 M19 31 h26 M26 40 h12 M10 54 h44',
    out: 'M12 12 h40 v40 h-40 z',
    soon: 'M32 6 L58 54 H6 Z M32 22 v16 M32 44 v4',
    live: 'M36 4 L14 36 h14 l-6 24 L50 26 H34 z',
    doubt: 'M20 20 a12 12 0 1 1 17 11 q-5 3 -5 10 M32 50 v5',
    unknown: 'M20 20 a12 12 0 1 1 17 11 q-5 3 -5 10 M32 50 v5',
  };
  return (
    <svg class="mark" viewBox="0 0 64 64" aria-hidden="true">
      <path d={shapes[kind]} />
    </svg>
  );
}

export function AreaBand({heard, words, mayStop, onStop}: {heard: Heard; words: Words; mayStop: boolean; onStop: () => void}) {
  const kind = areaKind(heard);
  const lowNotProven = heard.snapshot?.area.low_not_proven ?? true;
  const said: Record<Kind, [string, string]> = {
    unknown: [words.areaUnknown, words.areaUnknownDo],
    earthed: [words.areaEarthed, lowNotProven ? words.areaEarthedByHandDo : words.areaEarthedDo],
    barred: [words.areaBarred, lowNotProven ? words.areaEarthedByHandDo : words.areaBarredDo],
    out: [words.areaOut, words.areaOutDo],
    soon: [words.areaSoon, words.areaSoonDo],
    live: [words.areaLive, words.areaLiveDo],
    doubt: [words.areaNotProven, words.areaNotProvenDo],
  };
  const guard = heard.snapshot?.guard;
  return (
    <header class={'area ' + kind} aria-label={said[kind][0]}>
      <Mark kind={kind} />
      <div class="area-words" role="status" aria-live="assertive">
        <strong>{said[kind][0]}</strong>
        <span>{said[kind][1]}</span>
      </div>
      {heard.snapshot?.simulated && <p class="simulated">{words.simulated}{heard.snapshot.time_scale !== 1 ? ` · ×${heard.snapshot.time_scale}` : ''}</p>}
      <div class="area-values">
        {kind !== 'unknown' && guard && (
          <>
            <span>{volts(guard.output_v)}</span>
            <span>{amperes(guard.output_a)}</span>
          </>
        )}
      </div>
      <div class="area-stop">
        <button type="button" class="stop" disabled={!mayStop} onClick={onStop}>{words.stop}</button>
        <span>{words.stopIs}</span>
      </div>
    </header>
  );
}
