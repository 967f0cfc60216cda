// The forms of the server's answers.
//
// Offsets are UTF-16 code units of the transcription, ends exclusive, as JavaScript counts.

export type Range = [number, number];

export interface Entry {
  id: string;
  title: string;
  /** Milliseconds since 1970. */
  changed: number;
  rows: number;
  open_doubts: number;
  has_picture: boolean;
  removed: boolean;
}

export interface Source {
  title: string;
  creator: string;
  publisher: string;
  date: string;
  place: string;
  identifier: string;
  pages: string;
  language: string;
  rights: string;
}

export interface Gauge {
  stitches: number;
  rows: number;
}

export interface Page {
  page: number;
  name: string;
  media: string;
}

export interface Ruling {
  at: Range;
  printed: string;
  corrected: string;
  why: string;
  taken: boolean;
}

export interface Project {
  title: string;
  text: string;
  glossary: string;
  source: Source;
  cast_on: number | null;
  gauge: Gauge | null;
  yarn: string;
  notes: string;
  plan: string;
  country: 'us' | 'uk';
  answers: Record<string, string>;
  rulings: Ruling[];
  pages: Page[];
}

export interface ProjectState {
  id: string;
  revision: number;
  undo: string | null;
  redo: string | null;
  project: Project;
}

export type Field =
  | 'title' | 'notes' | 'yarn' | 'plan' | 'country' | 'cast_on' | 'gauge'
  | `source.${keyof Source}`;

export type Change =
  | { do: 'text'; at: number; remove: number; insert: string }
  | { do: 'glossary'; at: number; remove: number; insert: string }
  | { do: 'set'; field: Field; value: string | number | Gauge | null }
  | { do: 'answer'; question: string; answer: string | null }
  | { do: 'rule'; ruling: Ruling }
  | { do: 'unrule'; at: Range; corrected: string }
  | { do: 'remove_page'; page: number };

export interface Changed {
  revision: number;
  undo: string | null;
  redo: string | null;
  view: View | null;
}

export interface OptionRow {
  piece: number;
  label: string;
  before_written: string;
  after_written: string;
}

export interface Option {
  label: string;
  chosen: boolean;
  change: Change[];
  cost: number | null;
  rows: OptionRow[];
}

export type DoubtKind = 'fault' | 'correction' | 'choice' | 'assumption' | 'unread';
export type DoubtState = 'open' | 'taken' | 'refused' | 'settled';

export interface Doubt {
  key: string;
  kind: DoubtKind;
  place: string;
  at: Range | null;
  title: string;
  why: string;
  printed: string | null;
  options: Option[];
  state: DoubtState;
  piece: number | null;
  row: number | null;
  sure: boolean;
}

export interface Sense {
  term: string;
  sense: string;
  from: 'glossary' | 'notation' | 'inferred' | 'chosen';
  at: Range | null;
  question: string | null;
  options: Option[];
}

export interface RowView {
  label: string;
  side: 'right' | 'wrong';
  before: number;
  after: number;
  written: string;
  at: Range | null;
  stitches: [number | null, number | null, number][];
  fault: string | null;
  line: number;
}

export interface PieceView {
  name: string | null;
  worked: 'flat' | 'round';
  cast_on: number;
  cast_on_written: string;
  multiple: { of: number; plus: number } | null;
  rows: RowView[];
  chart: string | null;
  chart_error: string | null;
  key: string | null;
  size: string | null;
}

export interface Word {
  at: Range;
  sure: 0 | 1 | 2;
}

export interface View {
  revision: number;
  searched: boolean;
  pieces: PieceView[];
  doubts: Doubt[];
  notation: Sense[];
  words: Word[];
  abbreviations: { short: string; long: string }[];
  error: string | null;
}

export interface Label {
  name: string;
  revision: number;
  /** Milliseconds since 1970. */
  made: number;
}

export interface Place {
  piece: number;
  row: number;
  stitch: number;
}

export interface Term {
  term: string;
  sense: string;
  period: string;
  source: string;
  ops: string[];
  /** The chart symbol as SVG. */
  symbol?: string | null;
}

export interface About {
  version: string;
  shelf: string;
  notices: string[];
}
