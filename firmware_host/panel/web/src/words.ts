// SPDX-License-Identifier: MIT
// Every text of the panel by key; a language is a data file with the same keys.
import english from './lang/en.json';
import spanish from './lang/es.json';

export type Words = Omit<typeof english, 'phrases'> & {phrases: Record<string, string>};

const languages: Record<string, {name: string; words: Words}> = {
  en: {name: 'English', words: english},
  es: {name: 'Español', words: spanish},
};

export function languageNames(): [string, string][] {
  return Object.entries(languages).map(([key, entry]) => [key, entry.name]);
}

export function wordsOf(language: string): Words {
  return languages[language]?.words ?? english;
}

const phrases = new Map<Words, {whole: Map<string, string>; parts: {from: RegExp; to: string}[]}>();

/** What the station says in English, in the panel's language: by data, whole or with gaps {1}, {2}; else as it came. */
export function said(words: Words, text: string): string {
  let known = phrases.get(words);
  if (!known) {
    const table: Record<string, string> = words.phrases;
    known = {whole: new Map(Object.entries(table)), parts: []};
    for (const [from, to] of Object.entries(table)) {
      if (!from.includes('{1}')) continue;
      const pattern = from.replace(/[.*+?^$()|[\]\\]/g, '\\$&').replace(/\{\d\}/g, '(.+?)');
      known.parts.push({from: new RegExp(`^${pattern}$`), to});
    }
    // What has most words of its own goes first, or a short phrase would swallow a sentence that has its own.
    const own = new Map(known.parts.map((part) => [part, part.from.source.replace(/\(\.\+\?\)/g, '').length]));
    known.parts.sort((a, b) => (own.get(b) ?? 0) - (own.get(a) ?? 0));
    phrases.set(words, known);
  }
  const whole = known.whole.get(text);
  if (whole !== undefined) return whole;
  for (const {from, to} of known.parts) {
    const gaps = from.exec(text);
    if (gaps) return to.replace(/\{(\d)\}/g, (_, place: string) => said(words, gaps[Number(place)] ?? ''));
  }
  return text;
}

/** Conditions are worded as what is still to be done; as a cause the ones that name an act read the other way round. */
export function causeOf(condition: {number: number; words: string}, words: Words): string {
  const causes: Record<string, string> = words.causes;
  return causes[String(condition.number)] ?? said(words, condition.words);
}

/** Why a run ended: a trip by its cause, as the trip itself said it; else the station's words. */
export function reasonOf(reason: string, words: Words): string {
  const trip = /^trip by I(\d\d): (.*)$/.exec(reason);
  return trip ? `${words.trippedBy} ${causeOf({number: Number(trip[1]), words: trip[2] ?? ''}, words)} (I${trip[1]})` : said(words, reason).replace(/([a-z])_(?=[a-z])/g, '$1 ');  // keys of results as words
}

/** When and why an attempt was interrupted, as the station says it: "ended ABORTED 2026-03-01T10:00:00: trip by I02: ...". */
export function interruptionOf(text: string, words: Words): string {
  const parts = /^ended (\S+) (\S+)T(\S+?): (.*)$/s.exec(text);
  return parts ? `${said(words, parts[1] ?? '')}, ${parts[2]} ${parts[3]} UTC. ${reasonOf(parts[4] ?? '', words)}` : said(words, text);
}

/** A result's quantity and its place, "ratio error percent, tap 3": the quantity in the panel's language. */
export function quantity(words: Words, what: string): string {
  const comma = what.indexOf(', ');
  const name = comma < 0 ? what : what.slice(0, comma);
  const named = said(words, name);
  // Its unit stands with the number.
  const bare = named === name ? name.replace(/ (percent|kw|w|k|c|kv|v|a|hz|s|deg|ohm|megohm)$/, '') : named;
  const place = comma < 0 ? '' : ', ' + said(words, what.slice(comma + 2).replace(/_/g, ' ')).replace(/^tap (?=\d)/, `${words.tap} `);
  return bare.replace(/\bno load\b/, 'no-load') + place;
}

/** A test by its key as the operator says it. */
export function testName(words: Words, test: string): string {
  const names: Record<string, string> = words.tests;
  return names[test] ?? test.replace(/_/g, ' ');
}

/** A voltage with its unit, as people say it. */
export function volts(value: number): string {
  if (!Number.isFinite(value)) return '? V';
  if (value >= 1000) return `${(value / 1000).toFixed(value >= 10000 ? 1 : 2)} kV`;
  if (value >= 100) return `${value.toFixed(0)} V`;
  return `${value.toFixed(value >= 10 ? 1 : 2)} V`;
}

export function amperes(value: number): string {
  if (!Number.isFinite(value)) return '? A';
  if (Math.abs(value) < 0.1) return `${(value * 1000).toFixed(1)} mA`;
  return `${value.toFixed(Math.abs(value) >= 100 ? 0 : 2)} A`;
}

const symbols: Record<string, string> = {degC: '°C', ohm: 'Ω', megohm: 'MΩ', deg: '°'};

/** A limit in words, "-0.5 to 0.5 %", "at most 99 W". */
export function limitOf(words: Words, text: string): string {
  const band = /^(-?[\d.e-]+) to (-?[\d.e-]+.*)$/.exec(text);
  return withSigns(band ? `${band[1]} … ${band[2]}` : said(words, text));
}

/** A value with its unit as the station writes it, "22.5 degC", with the unit's sign. */
export function withSigns(text: string): string {
  return text.replace(/ (degC|ohm|megohm|deg)\b/g, (_, unit: string) => ` ${symbols[unit] ?? unit}`);
}

/** A reading with four significant digits and its unit. */
export function reading(value: number, unit: string): string {
  if (!Number.isFinite(value)) return `– ${unit}`;
  const size = Math.abs(value);
  const digits = size === 0 ? 3 : Math.max(0, Math.min(6, 3 - Math.floor(Math.log10(size))));
  const number = value.toFixed(digits).replace(/^-(0(\.0*)?)$/, '$1');  // no sign before nothing
  return `${number} ${symbols[unit] ?? unit}`.trim();
}

export function minutesSeconds(seconds: number): string {
  const whole = Math.max(0, Math.ceil(seconds));
  const rest = String(whole % 60).padStart(2, '0');
  return `${Math.floor(whole / 60)}:${rest}`;
}
