// Where she is: moves from row to row and from group to group. Knows nothing of the page.
//
// A place in a piece is { row, group, time }: row 0 is the cast-on, row n is the n-th row, and one more is the end;
// group is the line of the row that is being worked; time is how often the rows have been worked through, or, where
// they cannot follow themselves, which of several such pieces it is.

/** The place before anything is done. */
export function start() {
  return { row: 0, group: 0, time: 1 };
}

/** The lines of a row: groups that follow each other with the same words are one line, worked so many times. */
export function lines(row) {
  const lines = [];
  row.groups.forEach((group, index) => {
    const last = lines.at(-1);
    const goesOn = group.repeat !== null && group.repeat.nth > 1;
    if (last !== undefined && goesOn && last.words === group.words) last.last = index;
    else lines.push({ words: group.words, first: index, last: index });
  });
  return lines;
}

/** The row at a place; undefined at the cast-on and at the end. */
export function rowAt(piece, place) {
  return piece.rows[place.row - 1];
}

/** Stitches that she has in hand after a row: those on the needles but for those that wait. */
export function inHand(row) {
  return row.after - row.waits;
}

/** The place after the row that is worked: the next row, the one at which they begin again, or the end. */
export function nextRow(piece, place) {
  if (place.row < piece.rows.length) return { ...place, row: place.row + 1, group: 0 };
  if (piece.repeats && place.row === piece.rows.length) {
    return { row: piece.again_from, group: 0, time: place.time + 1 };
  }
  return { ...place, row: piece.rows.length + 1, group: 0 };
}

/** The place before it. */
export function rowBefore(piece, place) {
  const first = piece.repeats && place.time > 1 ? piece.again_from : 0;
  if (place.row > first || place.time === 1) return { ...place, row: Math.max(0, place.row - 1), group: 0 };
  return { row: piece.rows.length + (piece.repeats ? 0 : 1), group: 0, time: place.time - 1 };
}

/** Whether a place is the end of a piece of which another can be begun. */
export function canBeginAnother(piece, place) {
  return !piece.repeats && piece.rows.length > 0 && place.row > piece.rows.length;
}

/** The cast-on of another such piece. */
export function another(place) {
  return { row: 0, group: 0, time: place.time + 1 };
}

/** The place after the group that is worked. */
export function nextGroup(piece, place) {
  const row = rowAt(piece, place);
  if (row === undefined || place.group + 1 >= row.groups.length) return nextRow(piece, place);
  return { ...place, group: place.group + 1 };
}

/** The place before that group. */
export function groupBefore(piece, place) {
  if (place.group > 0) return { ...place, group: place.group - 1 };
  const before = rowBefore(piece, place);
  const row = rowAt(piece, before);
  const moved = before.row !== place.row || before.time !== place.time;
  return { ...before, group: moved && row !== undefined ? Math.max(0, row.groups.length - 1) : 0 };
}

/** What was kept, if it is a place of this work; otherwise where the file begins. */
export function kept(text, pieces, fresh) {
  let seen;
  try {
    seen = JSON.parse(text ?? "null");
  } catch {
    return fresh;
  }
  const whole = (number, least, most) => Number.isInteger(number) && number >= least && number <= most;
  const isPlace = (place, piece) =>
    whole(place?.row, 0, piece.rows.length + 1) &&
    whole(place.time, 1, 1e6) &&
    whole(place.group, 0, Math.max(0, (rowAt(piece, place)?.groups.length ?? 1) - 1));
  const isKept =
    whole(seen?.piece, 0, pieces.length - 1) &&
    Array.isArray(seen.at) &&
    seen.at.length === pieces.length &&
    seen.at.every((place, index) => isPlace(place, pieces[index]));
  return isKept ? seen : fresh;
}
