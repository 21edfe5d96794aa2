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

/** A reading with four significant digits and its unit. */
export function reading(value: number, unit: string): string {
  if (!Number.isFinite(value)) return `– ${unit}`;
  const size = Math.abs(value);
  const digits = size === 0 ? 3 : Math.max(0, Math.min(6, 3 - Math.floor(Math.log10(size))));
  return `${value.toFixed(digits)} ${unit}`;
}

export function minutesSeconds(seconds: number): string {
  const whole = Math.max(0, Math.ceil(seconds));
  const rest = String(whole % 60).padStart(2, '0');
  return `${Math.floor(whole / 60)}:${rest}`;
}
