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
  const ends = (lists: string[][]) => lists.flat().filter((name) => name !== 'tank').flatMap((name) => {
    const p = place(name);
    return p ? [{name, p}] : [];
  }).sort((a, b) => a.p.x - b.p.x);
  const source: Place = {x: 60, y: height / 2};
  const meter: Place = {x: width - 60, y: height / 2};
  // One lane a lead, and beside one another at a bushing: two leads that shared a line would look joined, which is
  // another connection. What feeds runs outside of what reads.
  const count = {fed: ends(connection.feed).length, read: ends(connection.measure).length};
  const laneGap = Math.min(18, 112 / Math.max(1, count.fed + count.read));
  const lead = (from: Place, to: Place, key: string, kind: 'fed' | 'read', index: number) => {
    const up = above(to);
    const nearer = kind === 'fed' ? index : count.read - 1 - index;
    const lane = 22 + laneGap * (count[kind] - 1 - nearer + (kind === 'read' ? count.fed : 0));
    const bend = up ? lane : height - lane;
    const x = from.x + ((count[kind] - 1) / 2 - index) * Math.min(18, 60 / count[kind]);
    const end = to.x + (count.fed > 0 && count.read > 0 ? (kind === 'fed' ? -5 : 5) : 0);
    return <path key={key} class={'lead ' + kind} d={`M${x} ${from.y + (up ? -radius : radius)} V${bend} H${end} V${to.y + (up ? -15 : 15)}`} />;
  };
  const leads = (lists: string[][], from: Place, kind: 'fed' | 'read') =>
    ends(lists).map(({name, p}, index) => lead(from, p, `${kind}-${name}`, kind, index));
  // Outside of the tank, where no name stands; what goes further goes round.
  const arc = (a: Place, b: Place, key: string, kind: string) => {
    const away = 40 + 0.25 * Math.abs(a.x - b.x);
    const lift = a.y === b.y ? (above(a) ? -away : away) : 0;
    const mid = {x: (a.x + b.x) / 2 + (a.y === b.y ? 0 : 60), y: (a.y + b.y) / 2 + lift};
    return <path key={key} class={'bar ' + kind} d={`M${a.x} ${a.y} Q${mid.x} ${mid.y} ${b.x} ${b.y}`} />;
  };
  const chain = (list: string[], kind: string) =>
    list.slice(1).flatMap((name, index) => {
      const a = place(list[index] ?? '');
      const b = place(name);
      return a && b ? [arc(a, b, `${kind}-${list[index]}-${name}`, kind)] : [];
    });
  const joined = new Set([...connection.tie, ...connection.short].flat());
  const unclipped = connection.live.flatMap((entry) => {
    const p = at.get(entry.terminal);
    return p && !entry.clipped && entry.volts_to_earth > 0 && !joined.has(entry.terminal) ? [{name: entry.terminal, p}] : [];
  });
  // One line for a row of bushings: a line each would lie upon one another.
  const rows = [true, false].flatMap((up) => {
    const row = unclipped.filter(({p}) => above(p) === up);
    return row.length > 0 ? [{up, names: row.map(({name}) => name).join(', '), x: row.reduce((sum, {p}) => sum + p.x, 0) / row.length}] : [];
  });
  const nameDown = rows.length === 1 ? (rows[0]?.up ? 28 : -6) : 8;
  const text = connection.live.map((entry) => `${entry.terminal} ${volts(entry.volts_to_earth)}`).join(', ');
  return (
    <figure class="drawing">
      <svg viewBox={`0 0 ${width} ${height}`} role="img" aria-label={`${said(words, connection.name)}. ${words.live}: ${text}`}>
        <rect class="tank" x={tank.x} y={tank.y} width={tank.w} height={tank.h} rx="10" />
        {rows.length < 2 && <text class="tank-name" x={tank.x + tank.w / 2} y={tank.y + tank.h / 2 + nameDown}>{unit.serial}</text>}
        {rows.map(({up, names, x}) => <text key={names} class="unclipped" x={x} y={up ? tank.y + 96 : tank.y + tank.h - 84}>{names}: {words.nothingClipped}</text>)}
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
              {earthed && <path class="earth" transform={up ? undefined : `matrix(1 0 0 -1 0 ${2 * p.y})`} d={`M${p.x + 16} ${p.y} h26 v14 m-14 0 h28 m-22 7 h16 m-11 7 h6`} />}
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
