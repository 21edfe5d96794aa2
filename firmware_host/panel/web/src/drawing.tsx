// SPDX-License-Identifier: MIT
// The connection of a step, drawn from data: bushings where they are on the tank, what is fed, shorted, tied, earthed,
// open and live, at what voltage. Never colour alone: each kind has its own line, mark and word.
import type {Connection, Unit} from './snapshot';
import {said, volts, type Words} from './words';

interface Place {
  x: number;
  y: number;
}

const width = 900;
const height = 520;
const radius = 48;
const tank = {x: 150, y: 150, w: 600, h: 220};

/** High side along the top edge of the cover, low side along the bottom edge, as seen from the low side's front. */
export function places(terminals: string[]): Map<string, Place> {
  const found = new Map<string, Place>();
  const row = (names: string[], y: number) => {
    names.forEach((name, index) => {
      const gap = tank.w / (names.length + 1);
      found.set(name, {x: tank.x + gap * (index + 1), y});
    });
  };
  row(terminals.filter((name) => name.startsWith('H')), tank.y);
  row(terminals.filter((name) => !name.startsWith('H') && name !== 'tank'), tank.y + tank.h);
  found.set('tank', {x: tank.x + tank.w - 30, y: tank.y + tank.h / 2});
  return found;
}

function nameOf(words: string): string[] {
  return words.split('+');
}

export function Drawing({connection, unit, words}: {connection: Connection; unit: Unit; words: Words}) {
  const at = places(unit.terminals);
  const place = (name: string): Place | undefined => at.get(nameOf(name)[0] ?? name);
  const above = (p: Place) => p.y <= tank.y + 1;
  const source: Place = {x: 60, y: height / 2};
  const meter: Place = {x: width - 60, y: height / 2};
  // One lane a lead: two leads that shared a line would look joined, which is another connection.
  const lead = (from: Place, to: Place, key: string, kind: string, index: number, count: number) => {
    const up = above(to);
    const nearer = from.x < width / 2 ? index : count - 1 - index;
    const lane = 22 + 18 * (count - 1 - nearer);
    const bend = up ? lane : height - lane;
    const x = from.x + ((count - 1) / 2 - index) * Math.min(18, 60 / count);
    return <path key={key} class={'lead ' + kind} d={`M${x} ${from.y + (up ? -radius : radius)} V${bend} H${to.x} V${to.y + (up ? -16 : 16)}`} />;
  };
  const leads = (lists: string[][], from: Place, kind: string) => {
    const ends = lists.flat().filter((name) => name !== 'tank').flatMap((name) => {
      const p = place(name);
      return p ? [{name, p}] : [];
    });
    ends.sort((a, b) => a.p.x - b.p.x);
    return ends.map(({name, p}, index) => lead(from, p, `${kind}-${name}`, kind, index, ends.length));
  };
  const arc = (a: Place, b: Place, key: string, kind: string) => {
    const lift = a.y === b.y ? (above(a) ? 64 : -64) : 0;
    const mid = {x: (a.x + b.x) / 2 + (a.y === b.y ? 0 : 60), y: (a.y + b.y) / 2 + lift};
    return <path key={key} class={'bar ' + kind} d={`M${a.x} ${a.y} Q${mid.x} ${mid.y} ${b.x} ${b.y}`} />;
  };
  const chain = (list: string[], kind: string) =>
    list.slice(1).flatMap((name, index) => {
      const a = place(list[index] ?? '');
      const b = place(name);
      return a && b ? [arc(a, b, `${kind}-${list[index]}-${name}`, kind)] : [];
    });
  const text = connection.live.map((entry) => `${entry.terminal} ${volts(entry.volts_to_earth)}`).join(', ');
  return (
    <figure class="drawing">
      <svg viewBox={`0 0 ${width} ${height}`} role="img" aria-label={`${said(words, connection.name)}. ${words.live}: ${text}`}>
        <rect class="tank" x={tank.x} y={tank.y} width={tank.w} height={tank.h} rx="10" />
        <text class="tank-name" x={tank.x + tank.w / 2} y={tank.y + tank.h / 2 + 8}>{unit.serial}</text>
        {connection.feed.length > 0 && (
          <g>
            <circle class="instrument" cx={source.x} cy={source.y} r={radius} />
            <text class="instrument-name" x={source.x} y={source.y + 6}>{words.feeds}</text>
          </g>
        )}
        {connection.measure.length > 0 && (
          <g>
            <circle class="instrument" cx={meter.x} cy={meter.y} r={radius} />
            <text class="instrument-name" x={meter.x} y={meter.y + 6}>{words.reads}</text>
          </g>
        )}
        {leads(connection.feed, source, 'fed')}
        {leads(connection.measure, meter, 'read')}
        {connection.tie.flatMap((list) => chain(list, 'tied'))}
        {connection.short.flatMap((list) => chain(list, 'shorted'))}
        {unit.terminals.filter((name) => name !== 'tank').map((name) => {
          const p = at.get(name);
          if (!p) return null;
          const live = connection.live.find((entry) => entry.terminal === name);
          const earthed = connection.earth.includes(name);
          const up = above(p);
          const y = p.y + (up ? 42 : -26);
          return (
            <g key={name} class={live && live.volts_to_earth > 0 ? 'bushing live' : 'bushing'}>
              <circle cx={p.x} cy={p.y} r="16" />
              {live && live.volts_to_earth > 0 && <path class="flash" d={`M${p.x + 3} ${p.y - 12} l-9 13 h6 l-3 11 l9 -13 h-6 z`} />}
              <text class="terminal" x={p.x} y={y}>{name}</text>
              {live && live.volts_to_earth > 0 && (
                <text class="live-volts" x={p.x} y={y + (up ? 29 : -31)}>{volts(live.volts_to_earth)}</text>
              )}
              {live && !live.clipped && live.volts_to_earth > 0 && (
                <text class="unclipped" x={p.x} y={y + (up ? 54 : -58)}>{words.nothingClipped}</text>
              )}
              {earthed && <path class="earth" d={`M${p.x + 16} ${p.y} h26 v14 m-14 0 h28 m-22 7 h16 m-11 7 h6`} />}
            </g>
          );
        })}
      </svg>
      <figcaption>
        <ul class="acts">
          {connection.feed.map((list) => <li key={'f' + list.join()}><b>{words.feed}</b> {list.join(', ')}</li>)}
          {connection.measure.map((list) => <li key={'m' + list.join()}><b>{words.read}</b> {list.join(', ')}</li>)}
          {connection.tie.map((list) => <li key={'t' + list.join()}><b>{words.tie}</b> {list.join(' – ')}</li>)}
          {connection.short.map((list) => <li key={'s' + list.join()}><b>{words.short}</b> {list.join(' – ')}</li>)}
          {connection.earth.length > 0 && <li><b>{words.earth}</b> {connection.earth.join(', ')}</li>}
          {connection.open.length > 0 && <li><b>{words.open}</b> {connection.open.join(', ')}</li>}
          {connection.accessories.map((entry) => <li key={'a' + entry.name}><b>{said(words, entry.name)}</b> {said(words, entry.state)}</li>)}
          {connection.tap !== null && <li><b>{words.tap}</b> {connection.tap}</li>}
        </ul>
      </figcaption>
    </figure>
  );
}
