// SPDX-License-Identifier: MIT
// The limit beside the live reading: where the limits stand, where the reading is. Drawn, and said in numbers.
import type {LiveReading} from './snapshot';
import {reading as say, said, type Words} from './words';

const width = 600;

export function LimitBand({live, words}: {live: LiveReading; words: Words}) {
  const {lower, upper} = live;
  if (lower === null && upper === null) return null;
  const span = lower !== null && upper !== null ? upper - lower : 0;
  const from = lower !== null && upper !== null ? lower - span : 0;
  const to = lower !== null && upper !== null ? upper + span : upper !== null ? upper * 1.25 : (lower ?? 0) * 2;
  const x = (value: number) => Math.max(0, Math.min(width, ((value - from) / (to - from || 1)) * width));
  const left = lower !== null ? x(lower) : 0;
  const right = upper !== null ? x(upper) : width;
  const at = Math.max(14, Math.min(width - 14, x(live.value)));
  const bounds = lower !== null && upper !== null ? `${say(lower, live.unit)} … ${say(upper, live.unit)}`
    : upper !== null ? `${words.atMost} ${say(upper, live.unit)}` : `${words.atLeast} ${say(lower ?? 0, live.unit)}`;
  return (
    <div class="limit-band">
      <p class="band">{words.limit}, {said(words, live.limit_of)}: <b>{bounds}</b></p>
      <svg viewBox={`0 0 ${width} 56`} aria-hidden="true">
        <rect class="scale" x="0" y="22" width={width} height="24" />
        <rect class="within" x={left} y="22" width={Math.max(2, right - left)} height="24" />
        {lower !== null && <path class="edge" d={`M${left} 16 v36`} />}
        {upper !== null && <path class="edge" d={`M${right} 16 v36`} />}
        <path class="pointer" d={`M${at} 24 l-14 -22 h28 z`} />
      </svg>
    </div>
  );
}
