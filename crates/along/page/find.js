// Both finders: what was worked out beforehand is looked up, and weighed by what she sees. Knows nothing of the page.

/** Minus the logarithm of the sum of chances whose costs these are. */
function together(costs) {
  const least = Math.min(...costs);
  return least - Math.log(costs.reduce((sum, cost) => sum + Math.exp(least - cost), 0));
}

/** Nats against a row that would look wrong from `off` on, by what she says: null nothing, 0 that it looks right. */
function againstLook(work, off, said) {
  if (said === null) return 0;
  if (said === 0) return off === null ? 0 : work.not_seen;
  if (off === null) return work.not_seen;
  return work.eye_off[Math.abs(off - said)] ?? work.not_seen;
}

/** Nats against a row that would show this, by what she sees of it. */
function against(work, shown, seen) {
  const counted = (shown, seen, nats) => (seen === null ? 0 : (nats[Math.abs(shown - seen)] ?? work.not_seen));
  return (
    againstLook(work, shown.off, seen.wrong_from) +
    counted(shown.yarn_overs, seen.yarn_overs, work.yarn_overs_off) +
    counted(shown.together, seen.together, work.together_off)
  );
}

/** Nats against a slip, by whether she sees a loose loop. */
function againstLoop(work, slip, seen) {
  if (seen === null || slip.loose_loop === seen) return 0;
  return seen ? work.not_seen : work.loop_overlooked;
}

/**
 * The slips for a row and a count, the likeliest first, each with the words of its likeliest places.
 *
 * `found` has the `count` in hand and what she sees `here` and in the row `before`: `wrong_from`, the stitch from which a row
 * looks wrong, 0 where it looks right, its `yarn_overs`, and the places where stitches lie
 * `together`; besides whether there is a `loose_loop`. What she has not
 * looked at is null.
 */
export function slips(work, piece, row, found) {
  // Costs are rounded: those that are the same but for that stay in the order of the table.
  const hundredths = (slip) => Math.round(100 * slip.cost);
  return weighed(work, piece, row, found).sort((a, b) => hundredths(a) - hundredths(b)).slice(0, 5);
}

/** All slips for a row and a count, in the order of the table. */
function weighed(work, piece, row, found) {
  const { after, waits } = piece.rows[row];
  const wrongBy = found.count - (after - waits);
  const widest = (piece.slips[row].length - 1) / 2;
  const table = piece.tables[piece.slips[row][wrongBy + widest]] ?? [];
  const right = (index, seen) => (index < 0 ? 0 : against(work, { off: null, ...piece.shows[index] }, seen));
  const [hereRight, beforeRight] = [right(row, found.here), right(row - 1, found.before)];
  // Over a slip in the row before, a row that looks right can only be a plain one.
  const beforeShows = found.here.wrong_from === 0 && !piece.shows[row].unshaped ? work.not_seen : 0;
  const elsewhere = { here: beforeRight, before: hereRight + beforeShows, neither: hereRight + beforeRight };
  return table.map((slip) => {
    const seen = found[slip.seen_in];
    const places = piece.places[slip.places].map((place) => {
      return { ...place, cost: place.cost + (seen ? against(work, place, seen) : 0) };
    });
    // The cost of a slip counts all its places; what she sees shifts it by as much as it shifts their sum.
    const before = together(piece.places[slip.places].map((place) => place.cost));
    const besides = elsewhere[slip.seen_in] + againstLoop(work, slip, found.loose_loop);
    const cost = slip.cost - before + together(places.map((place) => place.cost)) + besides;
    return { ...slip, cost, where: where(places) };
  });
}

/** The questions behind a wrong count: what each asks for, and of which row. */
const LOOKS = [
  ["yarn_overs", "here", "yarn_overs"],
  ["together", "here", "together"],
  ["loose_loop", "here", null],
  ["wrong_from", "here", "wrong_from"],
  ["holes_below", "before", "yarn_overs"],
  ["before_wrong_from", "before", "wrong_from"],
];
/** By how much oftener the first slip must be the right one for a question to be worth asking. */
const WORTH = 0.01;

/**
 * The question that tells most of those left open, or null: the one after which the slip that is then named first is the
 * right one most often, over all answers that the slips still possible would give.
 */
export function nextLook(work, piece, row, found) {
  const now = weighed(work, piece, row, found);
  let [best, surest] = [null, sureness([now]) + WORTH];
  for (const look of LOOKS) {
    if (said(look, found) !== null) continue;
    const answers = answersTo(look, piece, row, now);
    const sure = sureness(answers.map((answer) => weighed(work, piece, row, withAnswer(look, found, answer))));
    if (sure > surest) [best, surest] = [look[0], sure];
  }
  return best;
}

function said([name, at, field], found) {
  return field === null ? found[name] : found[at][field];
}

function withAnswer([name, at, field], found, answer) {
  return field === null ? { ...found, [name]: answer } : { ...found, [at]: { ...found[at], [field]: answer } };
}

/** What she may see: what a slip in that row would leave, or the row as it should be. */
function answersTo([, at, field], piece, row, slips) {
  const index = at === "here" ? row : row - 1;
  if (index < 0) return [];
  const inRow = slips.filter((slip) => slip.seen_in === at);
  if (field === null) return inRow.length > 0 ? [false, true] : [false];
  const shown = field === "wrong_from" ? "off" : field;
  const ofSlips = inRow.flatMap((slip) => piece.places[slip.places].map((place) => place[shown] ?? 0));
  return [...new Set([...ofSlips, piece.shows[index][shown] ?? 0])];
}

/** How often the slip named first is the right one, by the weights of the slips for each answer. */
function sureness(byAnswer) {
  const weights = byAnswer.map((slips) => slips.map(({ cost }) => Math.exp(-cost)));
  const all = weights.flat().reduce((sum, weight) => sum + weight, 0);
  return all === 0 ? 0 : weights.reduce((sum, one) => sum + Math.max(0, ...one), 0) / all;
}

/** The places that are about as likely as the likeliest, in words. */
function where(places) {
  const sorted = places.toSorted((a, b) => a.cost - b.cost);
  const likely = sorted.filter((place) => place.cost - sorted[0].cost < 1 && place.words !== "");
  if (likely.length === 0) return "";
  const told = likely.slice(0, 4).map((place) => place.words);
  const others = sorted.filter((place) => place.cost - sorted[0].cost < 4).length - told.length;
  return told.join("; ") + (others > 0 ? `; or at ${others} other ${others === 1 ? "place" : "places"}` : "");
}

/** How a count goes with what a row shows: "fits", "near" when it is one off, or "not". */
function matches(least, most, count) {
  if (count >= least && count <= most) return "fits";
  return count >= least - 1 && count <= most + 1 ? "near" : "not";
}

/** The best of some answers: where stitches wait, she may count all, or those in hand. */
function nearest(answers) {
  return ["fits", "near"].find((answer) => answers.includes(answer)) ?? "not";
}

const SHOWS = ["plain", "purl", "mixed"];

/** How one thing that she sees goes with a row. */
export function match(signs, sign, seen) {
  const same = (value) => (value === null ? "not" : matches(value, value, seen));
  switch (sign) {
    case "count": return nearest([signs.count, signs.count - signs.waits, signs.reach].map(same));
    case "shows": return signs.shows[SHOWS.indexOf(seen)];
    case "side": return signs.side === seen ? "fits" : "not";
    case "ridges": return matches(signs.ridges.least, signs.ridges.most, seen);
    case "hole_rows": return same(signs.hole_rows);
    case "above_holes": return same(signs.above_holes);
    case "hole_at": return signs.above_holes !== null && signs.hole_at === null ? "fits" : same(signs.hole_at);
    case "cross_rows": return same(signs.cross_rows);
    case "above_crosses": return same(signs.above_crosses);
    case "height": return same(signs.rows);
    default: return "not";
  }
}

/** The rows that go with all she sees, those that fit as they are first, then the later ones. */
export function places(work, piece, observed) {
  const found = [];
  for (const signs of piece.signs) {
    const told = Object.entries(observed).map(([sign, seen]) => [sign, match(signs, sign, seen)]);
    if (told.some(([, how]) => how === "not")) continue;
    const off = told.filter(([, how]) => how === "near").map(([sign]) => sign);
    found.push({ rows: signs.rows, off, cost: off.length * work.one_off });
  }
  return found.sort((a, b) => a.cost - b.cost || b.rows - a.rows);
}
