// The page: shows the place, moves it by taps, keys and swipes, keeps it on the phone, and asks both finders.
//
// The functions of place.js and find.js stand before this in the same script.

const byId = (id) => document.getElementById(id);
const data = byId("work");
const work = JSON.parse(data.textContent);
const key = `along ${data.dataset.key}`;
const begins = JSON.stringify(work.start);
let state = kept(read(), work.pieces, JSON.parse(begins));

const piece = () => work.pieces[state.piece];
const place = () => state.at[state.piece];

/** What the phone has kept; nothing where it may not keep anything. */
function read() {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function keep() {
  try {
    localStorage.setItem(key, JSON.stringify(state));
  } catch {
    // A browser that keeps nothing still shows the rows.
  }
}

function go(to) {
  state.at[state.piece] = to;
  keep();
  show();
}

/** An element with a text, and what else it has. */
function element(name, text, properties = {}) {
  return Object.assign(document.createElement(name), { textContent: text }, properties);
}

const stitches = (count) => (count === 1 ? "1 stitch" : `${count} stitches`);
const sideWords = (side) => (side === "RS" ? "right side facing" : "wrong side facing");
/** What a row of this piece is called. */
const rowWord = () => (piece().worked === "round" ? "round" : "row");
/** Words that speak of rows, for this piece. */
const rowWords = (words) => words.replace(/([Rr])ow\b/g, rowWord() === "round" ? "$1ound" : "$1ow");
const turned = (side) => (side === "RS" ? "WS" : "RS");
const pieceName = (piece, index) => piece.name ?? `Piece ${index + 1}`;

/** Which time through or which piece it is, in words; nothing the first time. */
function timeWords(piece, { time }) {
  if (time === 1) return "";
  if (piece.repeats) return `time ${time}`;
  const teen = time % 100 > 10 && time % 100 < 14;
  return `the ${time}${(teen ? "" : ["", "st", "nd", "rd"][time % 10]) || "th"}`;
}

// ---- the row ----------------------------------------------------------------------------------------------------

function show() {
  const { row: number, time } = place();
  const row = rowAt(piece(), place());
  const isEnd = number > piece().rows.length;
  byId("heading").textContent = row?.heading ?? (isEnd ? "The end" : "Cast on");
  const isTurned = row !== undefined && piece().worked === "flat";
  byId("side").textContent = isTurned ? sideWords(facing(row, time)) : "";
  byId("after").textContent = afterWords(row, isEnd);
  byId("lifeline").textContent = row?.lifeline ? `Then a lifeline: ${row.lifeline}.` : "";
  byId("notes").replaceChildren(...(row?.notes ?? []).map((note) => element("li", note)));
  byId("groups").replaceChildren(...(row === undefined ? [] : lines(row).map((line) => lineItem(row, line))));
  const count = row === undefined ? "" : `${number} of ${piece().rows.length}`;
  byId("progress").textContent = [count, timeWords(piece(), place())].filter((part) => part !== "").join(", ");
  const atEnd = canBeginAnother(piece(), place()) ? "Begin another" : "";
  byId("on").textContent = row === undefined ? (isEnd ? atEnd : "Cast on") : rowWords("Row done");
  byId("back").textContent = rowWords("Row before");
  byId("on").disabled = isEnd && atEnd === "";
  const isStart = number === 0 && time === 1;
  byId("back").disabled = isStart;
  byId("back").style.visibility = isStart ? "hidden" : "";
  byId("made").textContent = JSON.stringify(state) === begins ? (work.made_at ?? "") : "";
  byId("ask-count").hidden = row === undefined;
  light(row);
  showPieces();
}

/** The side that faces; of some pieces it is the other one every second time through. */
function facing(row, time) {
  return piece().flips && time % 2 === 0 ? turned(row.side) : row.side;
}

function afterWords(row, isEnd) {
  if (row !== undefined) return rowAfterWords(row);
  return isEnd ? `All ${rowWord()}s are worked.` : piece().begin;
}

/** What a row leaves: `23 stitches after this row`, `11 stitches in hand after this row; 12 more wait`. */
function rowAfterWords(row) {
  if (row.waits === 0) return `${stitches(row.after)} after this ${rowWord()}`;
  const wait = row.waits === 1 ? "1 more waits" : `${row.waits} more wait`;
  return `${stitches(inHand(row))} in hand after this ${rowWord()}; ${wait}`;
}

/** One line of the row; a tap takes its beginning for the place. */
function lineItem(row, line) {
  const { group } = place();
  const item = document.createElement("li");
  const button = element("button", line.words, { type: "button" });
  const isNow = group >= line.first && group <= line.last;
  if (isNow) button.setAttribute("aria-current", "step");
  else if (group < line.first) button.className = "to-come";
  const times = line.last - line.first + 1;
  if (times > 1) {
    const which = isNow ? `${group - line.first + 1} of ${times}` : `${times} times`;
    button.append(" ", element("small", which));
  }
  const spare = row.groups[line.first].spare;
  if (spare > 0) button.append(" ", element("small", `${stitches(spare)} on the spare needle`));
  button.addEventListener("click", () => go(afterTap(line, isNow)));
  item.append(button);
  return item;
}

/** A tap on the line that is worked goes on by one group; on another line it goes there. */
function afterTap(line, isNow) {
  const isLast = place().group + 1 >= rowAt(piece(), place()).groups.length;
  if (!isNow) return { ...place(), group: line.first };
  return isLast ? place() : nextGroup(piece(), place());
}

function showPieces() {
  if (work.pieces.length < 2) return;
  const buttons = work.pieces.map((one, index) => {
    const button = element("button", pieceName(one, index), { type: "button" });
    if (index === state.piece) button.setAttribute("aria-current", "true");
    button.addEventListener("click", () => {
      state.piece = index;
      keep();
      drawChart();
      show();
    });
    return button;
  });
  byId("pieces").replaceChildren(...buttons);
}

// ---- the chart --------------------------------------------------------------------------------------------------

function drawChart() {
  const drawing = document.querySelector(`template[data-chart="${state.piece}"]`);
  byId("chart").replaceChildren(drawing.content.cloneNode(true));
}

/** Lights the row and the group in the chart, and brings them into view. */
function light(row) {
  const chart = byId("chart");
  for (const square of chart.querySelectorAll(".lit")) square.classList.remove("lit", "now");
  if (row === undefined) {
    // The first rows stand at the foot of the chart.
    if (place().row === 0) chart.scrollTop = chart.scrollHeight;
    return;
  }
  const [from, to] = row.groups[place().group]?.ops ?? [0, 0];
  const squares = chart.querySelectorAll(`[data-row~="${place().row - 1}"]`);
  let middle = null;
  for (const square of squares) {
    square.classList.add("lit");
    const isNow = square.dataset.stitch.split(" ").some((stitch) => stitch >= from && stitch < to);
    square.classList.toggle("now", isNow);
    if (middle === null || isNow) middle = square;
  }
  if (middle !== null) bringIntoView(chart, middle);
}

function bringIntoView(chart, square) {
  const [frame, at] = [chart.getBoundingClientRect(), square.getBoundingClientRect()];
  chart.scrollBy({
    left: at.left + at.width / 2 - frame.left - frame.width / 2,
    top: at.top + at.height / 2 - frame.top - frame.height / 2,
  });
}

// ---- count wrong? -----------------------------------------------------------------------------------------------

/** A whole number in a field; null where there is none. */
function number(field) {
  return field.value === "" || !field.validity.valid ? null : Number(field.value);
}

function askCount() {
  const row = rowAt(piece(), place());
  const others = row.waits > 0 ? " in hand; do not count those that wait" : "";
  byId("count-row").textContent =
    `After ${row.heading.toLowerCase()} there should be ${stitches(inHand(row))}${others}.`;
  byId("seen").reset();
  for (const told of byId("count").querySelectorAll("[data-words]")) told.textContent = rowWords(told.dataset.words);
  showSlips();
  byId("count").showModal();
}

/** What she found and sees; null where she has not looked. */
function foundNow() {
  const loose = byId("seen").elements.loose.value;
  return {
    count: number(byId("found")),
    here: {
      wrong_from: number(byId("wrong-from")),
      yarn_overs: number(byId("yarn-overs")),
      together: number(byId("together")),
    },
    before: {
      wrong_from: number(byId("before-wrong-from")),
      yarn_overs: number(byId("holes-below")),
      together: null,
    },
    loose_loop: loose === "" ? null : loose === "yes",
  };
}

function showSlips() {
  const seen = foundNow();
  const row = rowAt(piece(), place());
  const isWrong = seen.count !== null && seen.count !== inHand(row);
  mark(isWrong ? nextLook(work, piece(), place().row - 1, seen) : null);
  if (seen.count === null) return byId("slips").replaceChildren();
  if (!isWrong) return byId("slips").replaceChildren(element("li", "That is the right count."));
  const found = slips(work, piece(), place().row - 1, seen);
  const none = "No single slip gives that count. Work back to the last row or lifeline of which you are sure.";
  byId("slips").replaceChildren(...(found.length === 0 ? [element("li", none)] : found.map(slipItem)));
}

/** Marks the question that tells most of those still open. */
function mark(look) {
  for (const marked of byId("count").querySelectorAll("[data-look]"))
    marked.classList.toggle("next", marked.dataset.look === look);
}

function slipItem(slip) {
  const item = document.createElement("li");
  item.append(element("strong", slip.title));
  item.append(element("p", slip.where === "" ? slip.row : `${slip.row}: ${slip.where}`, { className: "off" }));
  item.append(element("p", slip.remedy));
  return item;
}

// ---- ripped back? -----------------------------------------------------------------------------------------------

const CHOICES = {
  shows: [["plain", "smooth"], ["purl", "bars"], ["mixed", "some of each"]],
  side: [["RS", "right side"], ["WS", "wrong side"]],
};

function askRipped() {
  const questions = work.questions.filter(({ sign }) => piece().asks.includes(sign));
  byId("signs").replaceChildren(...questions.map((asked) => (CHOICES[asked.sign] ? choiceField : numberField)(asked)));
  showPlaces();
  byId("ripped").showModal();
}

function numberField({ sign, question }) {
  const label = element("label", question);
  const field = Object.assign(document.createElement("input"), { type: "number", name: sign, min: 0, max: 20000 });
  field.inputMode = "numeric";
  label.append(field);
  return label;
}

function choiceField({ sign, question }) {
  const field = document.createElement("fieldset");
  field.append(element("legend", question));
  for (const [value, words] of [...CHOICES[sign], ["", "cannot say"]]) {
    const label = document.createElement("label");
    const radio = Object.assign(document.createElement("input"), { type: "radio", name: sign, value });
    radio.checked = value === "";
    label.append(radio, words);
    field.append(label);
  }
  return field;
}

/** All that she has said. */
function observed() {
  const said = {};
  for (const field of byId("signs").querySelectorAll("input")) {
    if (field.type === "radio" && field.checked && field.value !== "") said[field.name] = field.value;
    if (field.type === "number" && number(field) !== null) said[field.name] = number(field);
  }
  return said;
}

function showPlaces() {
  const said = observed();
  if (Object.keys(said).length === 0) {
    byId("fitting").textContent = "";
    return byId("places").replaceChildren();
  }
  const found = places(work, piece(), said);
  byId("fitting").textContent = fittingWords(found);
  byId("places").replaceChildren(...found.slice(0, 12).map(placeItem));
}

function fittingWords(found) {
  const exact = found.filter(({ off }) => off.length === 0).length;
  if (found.length === 0) return "No row goes with all of that; look once more.";
  if (exact === 0) return "No row fits as it is; these would if you were one off:";
  return exact === 1 ? "One row fits:" : `${exact} rows fit; look at one thing more, or choose:`;
}

function placeItem({ rows, off }) {
  const item = document.createElement("li");
  const button = element("button", piece().go_on[rows].words, { type: "button" });
  button.addEventListener("click", () => {
    byId("ripped").close();
    go({ ...place(), row: Math.min(rows + 1, piece().rows.length + 1), group: 0 });
  });
  item.append(button, element("p", `To make sure: ${piece().go_on[rows].looks}.`, { className: "off" }));
  if (off.length > 0) {
    const names = off.map((sign) => work.questions.find((asked) => asked.sign === sign).name);
    item.append(element("p", `If one off: ${names.join(", ")}.`, { className: "off" }));
  }
  return item;
}

// ---- hands ------------------------------------------------------------------------------------------------------

const KEYS = {
  " ": nextGroup,
  ArrowRight: nextGroup,
  ArrowLeft: groupBefore,
  Enter: nextRow,
  ArrowDown: nextRow,
  PageDown: nextRow,
  ArrowUp: rowBefore,
  PageUp: rowBefore,
};

function onKey(event) {
  const move = KEYS[event.key];
  const isOther = event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]") !== null;
  const onControl = event.target.closest?.("button, input") && (event.key === " " || event.key === "Enter");
  const inChart = event.target.closest?.("#chart") && event.key.startsWith("Arrow");
  if (move === undefined || isOther || onControl || inChart) return;
  event.preventDefault();
  go(move(piece(), place()));
}

/** A swipe of so many pixels across, and by far more across than along, goes to the next row or the one before. */
const SWIPE = 60;
let touched = null;

function onTouchEnd(event) {
  if (touched === null) return;
  const [across, along] = [event.changedTouches[0].clientX - touched.x, event.changedTouches[0].clientY - touched.y];
  touched = null;
  if (Math.abs(across) < SWIPE || Math.abs(across) < 2 * Math.abs(along)) return;
  go((across < 0 ? nextRow : rowBefore)(piece(), place()));
}

function onTouchStart(event) {
  const isOne = event.touches.length === 1 && event.target.closest("#chart") === null;
  touched = isOne ? { x: event.touches[0].clientX, y: event.touches[0].clientY } : null;
}

/** Keeps the screen on while the page is seen, where the phone allows it. */
async function stayAwake() {
  if (document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // The phone may refuse, to save its battery.
  }
}

byId("on").addEventListener("click", () => {
  go(canBeginAnother(piece(), place()) ? another(place()) : nextRow(piece(), place()));
});
byId("back").addEventListener("click", () => go(rowBefore(piece(), place())));
byId("ask-count").addEventListener("click", askCount);
byId("ask-ripped").addEventListener("click", askRipped);
byId("count").addEventListener("input", showSlips);
byId("ripped").addEventListener("input", showPlaces);
for (const dialog of document.querySelectorAll("dialog")) {
  // Enter in a field is no answer yet.
  dialog.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.matches("input")) event.preventDefault();
  });
}
document.addEventListener("keydown", onKey);
byId("row").addEventListener("touchstart", onTouchStart, { passive: true });
byId("row").addEventListener("touchend", onTouchEnd, { passive: true });
document.addEventListener("visibilitychange", stayAwake);
document.addEventListener("click", stayAwake, { once: true });
stayAwake();
drawChart();
show();
