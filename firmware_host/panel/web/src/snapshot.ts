// SPDX-License-Identifier: MIT
// What the station sends: the snapshot to every watching panel, whole, each time something changed, and the answers of
// the rooms. The same shapes stand in ../../panel.schema.json; a test compares the two, and the station's answers with both.

export type AreaWord = 'out_of_operation' | 'ready_for_operation' | 'ready_to_switch_on' | 'in_operation';

export interface Condition {
  number: number;
  words: string;
}

export interface Trip {
  first: Condition;
  later: Condition[];
  at: string;
  output_v: number;
  current_a: number;
}

export interface Connection {
  name: string;
  instrument: string;
  feed: string[][];
  measure: string[][];
  tie: string[][];
  short: string[][];
  earth: string[];
  open: string[];
  accessories: {name: string; state: string}[];
  live: {terminal: string; volts_to_earth: number; clipped: boolean}[];
  worst_volts: number;
  tap: number | null;
}

export interface Step {
  test: string;
  name: string;
  reason: string;
  state: 'done' | 'now' | 'ahead' | 'failed' | 'invalid' | 'stopped' | 'stands';
  predicted_s: number;
  new_leads: boolean;
}

export interface LiveReading {
  name: string;
  value: number;
  unit: string;
  lower: number | null;
  upper: number | null;
  limit_of: string;
}

export interface ResultLine {
  test: string;
  what: string;
  value: string;
  limit: string;
  margin: string;
  verdict: 'pass' | 'conditional pass' | 'conditional fail' | 'fail' | '-';
}

export interface End {
  outcome: 'PASS' | 'FAIL' | 'INVALID' | 'ABORTED' | 'NOT_RUN';
  disposition: 'release' | 'hold' | 'repeat';
  reason: string;
  finished: string[];
  repeat: string[];
  record_id: string;
  record_kept: boolean;
}

export interface Unit {
  serial: string;
  design: string;
  order: string;
  customer: string;
  rating: string;
  terminals: string[];
  phases: number;
  known: boolean;
}

export interface Way {
  key: string;
  kind: 'whole' | 'resume' | 'after';
  stage: string;
  words: string;
  waits: string;
  steps: number;
  stands: number;
}

export interface Run {
  unit: Unit;
  stage: string;
  phase: 'identified' | 'connect' | 'making_ready' | 'running' | 'ended';
  step: number;
  of: number;
  steps: Step[];
  act: string;
  needs_a_reason: string;
  ways: Way[];
  way: string;
  why_not_for_record: string;
  connection: Connection | null;
  reading: LiveReading | null;
  hold_left_s: number | null;
  results: ResultLine[];
  warnings: string[];
  end: End | null;
}

export interface Question {
  id: string;
  number: number;
  text: string;
  choices: string[];
}

export interface ShiftLine {
  serial: string;
  outcome: string;
  disposition: string;
  reason: string;
  minutes: number;
  simulated: boolean;
  record_id: string;
}

export interface Snapshot {
  v: 1;
  now: string;
  simulated: boolean;
  time_scale: number;
  bench: string;
  area: {status: AreaWord; earth_proven: boolean; low_not_proven: boolean; link_lost: boolean};
  guard: {
    state: string;
    words: string;
    missing: Condition[];
    output_v: number;
    output_a: number;
    direct_a: number;
    left_s: number;
    trip: Trip | null;
  };
  holder: string | null;
  holder_panel: number;
  closed: string;
  units: {serial: string; rating: string; order: string}[];
  run: Run | null;
  question: Question | null;
  shift: ShiftLine[];
}

export interface Me {
  name: string;
  role: 'watcher' | 'operator' | 'quality' | 'technician';
  panel: number;
  csrf: string;
}

export interface ReadValue {
  name: string;
  unit: string;
  raw: string;
  value: number | null;
}

export interface InstrumentLine {
  name: string;
  role: string;
  ok: boolean;
  words: string;
  round_trip_ms: number | null;
  calibration_due: string;
  at: string;
  link: string;
  asked: number;
  answered: number;
  silent: number;
  garbled: number;
  refused: number;
  lost: number;
  fastest_ms: number | null;
  mean_ms: number | null;
  slowest_ms: number | null;
  values: ReadValue[];
  values_at: string;
}

export interface Instruments {
  instruments: InstrumentLine[];
  guard: {turns: number; overruns: number};
}

export interface RecordLine {
  record_id: string;
  serial: string;
  started: string;
  outcome: string;
  disposition: string;
  reason: string;
  simulated: boolean;
}

export interface Records {
  records: RecordLine[];
}

export interface LimitLine {
  test: string;
  quantity: string;
  limit: string;
  origin: string;
  source: string;
}

export interface ReworkRule {
  done: string;
  repeat: string[];
  level: string;
  before: string;
}

export interface Reworks {
  reworks: ReworkRule[];
}

export interface ChartPoint {
  record_id: string;
  serial: string;
  started: string;
  value: number;
  lower: number | null;
  upper: number | null;
  failed: boolean;
}

export interface Chart {
  design: string;
  what: string;
  unit: string;
  designs: string[];
  whats: string[];
  points: ChartPoint[];
}
