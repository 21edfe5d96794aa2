// SPDX-License-Identifier: MIT
import {useEffect, useRef} from 'preact/hooks';
import uPlot from 'uplot';
import type {LiveReading} from '../snapshot';

const most = 600;

/** The live reading over the last minutes of this step. Bounded: a panel that stays open for a shift does not grow. */
export function Trace({reading, step, scale}: {reading: LiveReading | null; step: number; scale: number}) {
  const frame = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const data = useRef<{name: string; step: number; x: number[]; y: number[]}>({name: '', step: 0, x: [], y: []});

  useEffect(() => {
    if (!frame.current) return undefined;
    const width = Math.max(300, frame.current.clientWidth);
    plot.current = new uPlot({
      width, height: 180, legend: {show: false}, cursor: {show: false},
      scales: {x: {time: false}},
      axes: [{label: 's', size: 44, font: '18px sans-serif', labelFont: '18px sans-serif'}, {size: 100, font: '18px sans-serif'}],
      series: [{}, {stroke: '#000', width: 2}],
    }, [[], []], frame.current);
    return () => {
      plot.current?.destroy();
      plot.current = null;
    };
  }, []);

  useEffect(() => {
    if (!reading) return;
    const kept = data.current;
    if (kept.name !== reading.name || kept.step !== step) data.current = {name: reading.name, step, x: [], y: []};
    const {x, y} = data.current;
    x.push(performance.now() / 1000 * scale);  // bench time
    y.push(reading.value);
    if (x.length > most) {
      x.shift();
      y.shift();
    }
    const begin = x[0] ?? 0;
    plot.current?.setData([x.map((t) => t - begin), y]);
  }, [reading?.value, reading?.name, step]);

  return <div class="trace" ref={frame} aria-hidden="true" />;
}
