// The forms that place.js works with, for whoever imports it into TypeScript.

export interface Place {
  row: number;
  group: number;
  time: number;
}

export interface Row {
  groups: { words: string; repeat: { nth: number; of: number } | null }[];
}

export interface Piece<R extends Row = Row> {
  repeats: boolean;
  again_from: number;
  rows: R[];
}

export interface Line {
  words: string;
  first: number;
  last: number;
}

export function start(): Place;
export function lines(row: Row): Line[];
export function inHand(row: { after: number; waits: number }): number;
export function rowAt<R extends Row>(piece: Piece<R>, place: Place): R | undefined;
export function nextRow(piece: Piece, place: Place): Place;
export function rowBefore(piece: Piece, place: Place): Place;
export function nextGroup(piece: Piece, place: Place): Place;
export function canBeginAnother(piece: Piece, place: Place): boolean;
export function another(place: Place): Place;
export function groupBefore(piece: Piece, place: Place): Place;
