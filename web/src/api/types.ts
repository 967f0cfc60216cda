// The forms of the program's answers, by their names in the app.
//
// They are those of `schema/app-api.json`, from which `npm run types` makes `schema.ts`. Offsets are UTF-16 code units
// of the transcription, ends exclusive, as JavaScript counts.

import type { components } from './schema';

type Schemas = components['schemas'];

/** An answer as it comes: every field is there, and null where there is nothing to tell. */
type Answer<T> = { [K in keyof T]-?: Answer<T[K]> };

export type Range = [number, number];

export type Change = Schemas['Change'];
export type Gauge = Schemas['Gauge'];
export type Field = Schemas['Field'];
export type Source = Schemas['Source'];

export type Entry = Answer<Schemas['Entry']>;
export type Page = Answer<Schemas['Page']>;
export type Project = Answer<Schemas['Project']>;
export type ProjectState = Answer<Schemas['ProjectState']>;
export type Label = Answer<Schemas['Label']>;
export type Term = Answer<Schemas['TermEntry']>;
export type About = Answer<Schemas['About']>;

export type Option = Omit<Answer<Schemas['DoubtOption']>, 'change'> & { change: Change[] };
export type Doubt = Omit<Answer<Schemas['Doubt']>, 'options'> & { options: Option[] };
export type Sense = Omit<Answer<Schemas['Sense']>, 'options'> & { options: Option[] };
export type RowView = Answer<Schemas['RowView']>;
export type PieceView = Answer<Schemas['PieceView']>;
export type Word = Answer<Schemas['WordView']>;
export type View = Omit<Answer<Schemas['View']>, 'doubts' | 'notation'> & {
  doubts: Doubt[];
  notation: Sense[];
};
export type Changed = Omit<Answer<Schemas['Changed']>, 'view'> & { view: View | null };
export type StateEvent = Answer<Schemas['StateEvent']>;
export type ClothInfo = Answer<Schemas['ClothInfo']>;
export type ClothEvent = Answer<Schemas['ClothEvent']>;

export type Compared = Answer<Schemas['Compared']>;
export type ComparedChart = Answer<Schemas['ComparedChart']>;

export type Place = Schemas['Place'];
export type Count = Schemas['Count'];
export type Observed = Schemas['Observed'];
export type Sign = Schemas['Sign'];
export type AlongRow = Omit<Answer<Schemas['AlongRow']>, 'groups'> & { groups: Group[] };
export type Group = Omit<Answer<Schemas['Group']>, 'ops'> & { ops: Range };
export type AlongPiece = Omit<Answer<Schemas['AlongPiece']>, 'rows'> & { rows: AlongRow[] };
export type Along = Omit<Answer<Schemas['Along']>, 'pieces'> & { pieces: AlongPiece[] };
export type Needles = Answer<Schemas['Needles']>;
export type NeedlesEvent = Answer<Schemas['NeedlesEvent']>;
export type Slips = Answer<Schemas['Slips']>;
export type Look = Schemas['Look'];
export type Slip = Answer<Schemas['Slip']>;
export type Fits = Answer<Schemas['Fits']>;
export type Fit = Answer<Schemas['Fit']>;
export type Sum = Schemas['Sum'];
export type SumAnswer = Answer<Schemas['SumAnswer']>;
export type PlanView = Answer<Schemas['PlanView']>;
export type PlanMade = Answer<Schemas['PlanMade']>;
export type PlanText = Answer<Schemas['PlanText']>;
export type PlanForm = Answer<Schemas['PlanForm']>;
export type PlanRead = Answer<Schemas['PlanRead']>;
export type FormPiece = Answer<Schemas['FormPiece']>;
export type FormCell = Answer<Schemas['FormCell']>;
export type FormEdge = Answer<Schemas['FormEdge']>;
export type FormEdging = Answer<Schemas['FormEdging']>;
export type Refusal = Schemas['Refusal'];
