// The page for the phone: its parts in Node, and the whole in Chromium, offline, at the size of a phone.
//
//     node --test crates/along/tests/page.mjs
//
// The page is made by the example `page` of along. The browser is driven by playwright-core, which is looked for
// among the tools of web/ (or in the folder that LOOPWRIGHT_NODE names); where it or Chromium is missing, those tests
// are skipped and say so.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import test from "node:test";
import { fileURLToPath, pathToFileURL } from "node:url";
import * as find from "../page/find.js";
import * as place from "../page/place.js";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const folder = mkdtempSync(join(tmpdir(), "loopwright-page-"));
makePage();
const file = join(folder, "work.html");
const html = readFileSync(file, "utf8");
const work = JSON.parse(html.match(/<script type="application\/json"[^>]*>([^<]*)</)[1]);
const answers = JSON.parse(readFileSync(join(folder, "answers.json"), "utf8"));
const [square, , border] = work.pieces;

/** Built with the features of the whole workspace, as the other tests are, so that nothing is compiled a second time. */
function makePage() {
  const options = { cwd: root, stdio: ["ignore", "ignore", "pipe"] };
  execFileSync("cargo", ["build", "--quiet", "--locked", "--workspace", "--example", "page"], options);
  const target = process.env.CARGO_TARGET_DIR ?? join(root, "target");
  execFileSync(join(target, "debug", "examples", "page"), [folder], options);
}

// ---- the parts --------------------------------------------------------------------------------------------------

test("groups lead through a row, and the last one to the next row", () => {
  let at = { ...place.start(), row: 23 };
  const groups = square.rows[22].groups.length;
  for (let group = 0; group < groups; group++) {
    assert.equal(at.group, group);
    at = place.nextGroup(square, at);
  }
  assert.deepEqual(at, { row: 24, group: 0, time: 1 });
  assert.deepEqual(place.groupBefore(square, at), { row: 23, group: groups - 1, time: 1 });
});

test("rows that can follow themselves begin again, and can be gone back through", () => {
  assert.equal(border.repeats, true);
  const last = { row: border.rows.length, group: 0, time: 1 };
  const again = place.nextRow(border, last);
  assert.deepEqual(again, { row: 1, group: 0, time: 2 });
  assert.deepEqual(place.rowBefore(border, again), last);
  const end = place.nextRow(square, { row: square.rows.length, group: 0, time: 1 });
  assert.deepEqual(place.nextRow(square, end), end);
  assert.ok(place.canBeginAnother(square, end) && !place.canBeginAnother(border, { ...end, row: 99 }));
  assert.deepEqual(place.rowBefore(square, place.another(end)), end);
  assert.deepEqual(place.groupBefore(square, place.start()), place.start());
});

test("rows that are worked once are passed over later on", () => {
  const tail = { ...border, again_from: 3 };
  const last = { row: tail.rows.length, group: 0, time: 1 };
  const again = place.nextRow(tail, last);
  assert.deepEqual(again, { row: 3, group: 0, time: 2 });
  assert.deepEqual(place.rowBefore(tail, again), last);
  assert.deepEqual(place.rowBefore(tail, { ...again, time: 1 }), { row: 2, group: 0, time: 1 });
});

test("what waits behind a turn is not in hand, and either may be counted", () => {
  assert.equal(place.inHand({ after: 23, waits: 12 }), 11);
  const signs = { count: 23, waits: 12, reach: 11 };
  assert.deepEqual([11, 23, 12, 17].map((seen) => find.match(signs, "count", seen)), ["fits", "fits", "near", "not"]);
});

test("repeats are one line, worked so many times", () => {
  const lines = place.lines(square.rows[22]);
  assert.deepEqual(lines.map(({ words }) => words), ["p1", "yo, k2tog"]);
  assert.equal(lines[1].last - lines[1].first + 1, 12);
});

test("what was kept is taken only where it is a place of this work", () => {
  const fresh = { piece: 0, at: work.pieces.map(place.start) };
  const good = structuredClone(fresh);
  good.piece = 2;
  good.at[2] = { row: 5, group: 1, time: 3 };
  assert.deepEqual(place.kept(JSON.stringify(good), work.pieces, fresh), good);
  const spoilt = (change) => {
    const state = structuredClone(good);
    change(state);
    return JSON.stringify(state);
  };
  for (const text of [
    null,
    "",
    "{",
    "[]",
    "7",
    spoilt((state) => (state.piece = 3)),
    spoilt((state) => state.at.pop()),
    spoilt((state) => (state.at[0] = null)),
    spoilt((state) => (state.at[0].row = 900)),
    spoilt((state) => (state.at[0].group = -1)),
    spoilt((state) => (state.at[2].group = 99)),
    spoilt((state) => (state.at[2].time = "2")),
  ]) {
    assert.deepEqual(place.kept(text, work.pieces, fresh), fresh, text);
  }
});

test("the rows that fit are those that the program finds", () => {
  answers.forEach(({ places }, index) => {
    for (const { seen, rows } of places) {
      const found = find.places(work, work.pieces[index], seen).map((one) => one.rows);
      assert.deepEqual(found, rows, JSON.stringify(seen));
    }
  });
});

test("the likeliest slip is the one that the program names", () => {
  let asked = 0;
  answers.forEach(({ slips }, index) => {
    for (const { row, found, names } of slips) {
      if (Math.abs(found.count - place.inHand(work.pieces[index].rows[row])) > 4) continue;
      const named = find.slips(work, work.pieces[index], row, found);
      assert.equal(named[0]?.title, names[0], `row ${row}: ${JSON.stringify(found)}`);
      asked += 1;
    }
  });
  assert.ok(asked > 400, `only ${asked} slips`);
});

test("the question that tells most is the one that the program marks", () => {
  let [asked, same, marked] = [0, 0, 0];
  answers.forEach(({ slips }, index) => {
    for (const { row, found, next } of slips) {
      if (Math.abs(found.count - place.inHand(work.pieces[index].rows[row])) > 4) continue;
      asked += 1;
      same += find.nextLook(work, work.pieces[index], row, found) === next ? 1 : 0;
      marked += next === null ? 0 : 1;
    }
  });
  // The page keeps the likeliest slips and places only, so that two questions about as good may change places.
  assert.ok(marked > asked / 4, `only ${marked} of ${asked} marked`);
  assert.ok(same >= 0.9 * asked, `${same} of ${asked} the same`);
});

test("yarn overs counted and a loose loop name the slip that was made", () => {
  let [asked, first, firstThree] = [0, 0, 0];
  answers.forEach(({ slips }, index) => {
    for (const { row, found, made } of slips.filter((slip) => slip.found.loose_loop !== null)) {
      const named = find.slips(work, work.pieces[index], row, found);
      const rank = named.findIndex((slip) => made !== null && slip.title === made[0] && slip.row === made[1]);
      asked += 1;
      first += rank === 0 ? 1 : 0;
      firstThree += rank >= 0 && rank < 3 ? 1 : 0;
    }
  });
  assert.ok(asked > 100, `only ${asked} slips`);
  assert.ok(first >= 0.8 * asked, `${first} of ${asked} first`);
  assert.ok(firstThree >= 0.95 * asked, `${firstThree} of ${asked} among the first three`);
});

// ---- the whole --------------------------------------------------------------------------------------------------

const chromium = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"].find(existsSync);
const tools = createRequire(join(process.env.LOOPWRIGHT_NODE ?? join(root, "web"), "package.json"));
const missing = whatIsMissing();

function whatIsMissing() {
  if (chromium === undefined) return "Chromium is not installed";
  try {
    tools.resolve("playwright-core");
    return false;
  } catch {
    return "playwright-core is not installed";
  }
}

/** Opens the page in a browser of its own, and closes it whatever happens. */
async function withPage(options, use) {
  const profile = mkdtempSync(join(tmpdir(), "loopwright-profile-"));
  await inProfile(profile, options, use);
}

async function inProfile(profile, options, use) {
  const context = await tools("playwright-core").chromium.launchPersistentContext(profile, {
    executablePath: chromium,
    args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"],
    viewport: { width: 390, height: 844 },
    hasTouch: true,
    isMobile: true,
    offline: true,
    ...options,
  });
  try {
    const page = await context.newPage();
    const faults = [];
    page.on("pageerror", (error) => faults.push(error.message));
    page.on("console", (message) => message.type() === "error" && faults.push(message.text()));
    page.on("request", (request) => request.url().startsWith("file:") || faults.push(request.url()));
    await page.goto(pathToFileURL(file).href);
    await use(page);
    assert.deepEqual(faults, []);
  } finally {
    await context.close();
  }
}

const heading = (page) => page.locator("#heading").textContent();
const inBrowser = (name, run) => test(name, { skip: missing }, run);

inBrowser("twenty rows, the browser closed, and on at the same group", async () => {
  const profile = mkdtempSync(join(tmpdir(), "loopwright-profile-"));
  await inProfile(profile, {}, async (page) => {
    for (let row = 0; row < 23; row++) await page.click("#on");
    for (let group = 0; group < 3; group++) await page.keyboard.press("ArrowRight");
    assert.equal(await heading(page), "Row 23");
    await page.getByRole("button", { name: "border" }).click();
    for (let row = 0; row < 3; row++) await page.keyboard.press("ArrowDown");
    assert.equal(await heading(page), "Row 3");
  });
  await inProfile(profile, {}, async (page) => {
    assert.equal(await heading(page), "Row 3");
    await page.getByRole("button", { name: "square" }).click();
    assert.equal(await heading(page), "Row 23");
    assert.equal(await page.locator("#groups [aria-current] small").textContent(), "3 of 12");
  });
});

inBrowser("a file made in the middle of the work begins there, and says so until she goes on", async () => {
  const profile = mkdtempSync(join(tmpdir(), "loopwright-profile-"));
  const begun = pathToFileURL(join(folder, "begun.html")).href;
  await inProfile(profile, {}, async (page) => {
    await page.goto(begun);
    assert.equal(await heading(page), "Row 23");
    assert.equal(await page.locator("#groups [aria-current] small").textContent(), "3 of 12");
    assert.match(await page.locator("#made").textContent(), /at row 23 of square\. It begins there\./);
    await page.getByRole("button", { name: "border" }).click();
    assert.equal(await heading(page), "Row 4");
    await page.click("#on");
    assert.equal(await page.locator("#made").isVisible(), false);
  });
  await inProfile(profile, {}, async (page) => {
    assert.equal(await heading(page), "Cast on", "the file made before the work keeps its own place");
    await page.goto(begun);
    assert.equal(await heading(page), "Row 5", "what the phone kept counts more than where the file begins");
  });
});

inBrowser("rounds are called rounds, and face no side", async () => {
  await withPage({}, async (page) => {
    await page.getByRole("button", { name: "round", exact: true }).click();
    await page.click("#on");
    assert.equal(await page.locator("#on").textContent(), "Round done");
    assert.match(await page.locator("#after").textContent(), /after this round$/);
    assert.equal(await page.locator("#side").textContent(), "");
    await page.click("#ask-count");
    await page.getByLabel("Holes in the round before").fill("0");
    await page.getByRole("button", { name: "Back to the work" }).click();
  });
});

inBrowser("what waits behind a turn is told apart from what is in hand", async () => {
  await withPage({}, async (page) => {
    await page.goto(pathToFileURL(join(folder, "shoulder.html")).href);
    await page.click("#on");
    assert.equal(await page.locator("#after").textContent(), "11 stitches in hand after this row; 12 more wait");
    await page.click("#ask-count");
    assert.match(await page.locator("#count-row").textContent(), /should be 11 stitches in hand; do not count those/);
    await page.fill("#found", "11");
    assert.equal(await page.locator("#slips").textContent(), "That is the right count.");
    await page.fill("#found", "12");
    assert.match(await page.locator("#slips li").first().textContent(), /^A decrease was forgotten/);
    await page.getByRole("button", { name: "Back to the work" }).click();
    for (let row = 1; row < 4; row++) await page.click("#on");
    assert.equal(await page.locator("#notes").textContent(), "Join the yarn anew, to 12 stitches that waited.");
  });
});

inBrowser("after one square is done another is begun", async () => {
  await withPage({}, async (page) => {
    for (let row = 0; row <= square.rows.length; row++) await page.click("#on");
    assert.equal(await heading(page), "The end");
    await page.keyboard.press("ArrowDown");
    assert.equal(await heading(page), "The end", "a key too many begins nothing");
    await page.getByRole("button", { name: "Begin another" }).click();
    assert.equal(await heading(page), "Cast on");
    assert.equal(await page.locator("#progress").textContent(), "the 2nd");
    await page.click("#on");
    assert.match(await page.locator("#progress").textContent(), /^1 of \d+, the 2nd$/);
    await page.click("#back");
    await page.click("#back");
    assert.equal(await heading(page), "The end");
  });
});

inBrowser("the row and the group are lit in the chart, and in view", async () => {
  await withPage({}, async (page) => {
    for (let row = 0; row < 25; row++) await page.click("#on");
    const lit = page.locator("#chart .lit");
    assert.equal(await lit.count(), square.rows[24].groups.at(-1).ops[1]);
    await page.keyboard.press("ArrowRight");
    const now = page.locator("#chart .now");
    assert.deepEqual(await now.evaluateAll((all) => all.map((one) => one.dataset.stitch)), ["1"]);
    const [frame, square_] = [await page.locator("#chart").boundingBox(), await now.boundingBox()];
    assert.ok(square_.y >= frame.y && square_.y + square_.height <= frame.y + frame.height, "not in view");
    assert.ok(square_.x >= frame.x && square_.x + square_.width <= frame.x + frame.width, "not in view");
  });
});

inBrowser("keys, taps and swipes", async () => {
  await withPage({}, async (page) => {
    await page.keyboard.press("Enter");
    assert.equal(await heading(page), "Row 1");
    await page.keyboard.press("ArrowUp");
    assert.equal(await heading(page), "Cast on");
    await swipe(page, 300, 60);
    assert.equal(await heading(page), "Row 1");
    await page.locator("#groups button").nth(2).tap();
    assert.equal(await page.locator("#groups [aria-current]").textContent(), "k1");
    await swipe(page, 60, 300);
    assert.equal(await heading(page), "Cast on");
  });
});

async function swipe(page, from, to) {
  await page.evaluate(
    ([from, to]) => {
      const target = document.querySelector("#after");
      const touch = (x) => new Touch({ identifier: 1, target, clientX: x, clientY: 300 });
      const send = (type, touches, changed) =>
        target.dispatchEvent(new TouchEvent(type, { bubbles: true, touches, changedTouches: changed }));
      send("touchstart", [touch(from)], [touch(from)]);
      send("touchend", [], [touch(to)]);
    },
    [from, to],
  );
}

inBrowser("a wrong count is explained", async () => {
  await withPage({}, async (page) => {
    for (let row = 0; row < 23; row++) await page.click("#on");
    await page.click("#ask-count");
    await page.fill("#found", "24");
    const first = page.locator("#slips li").first();
    assert.match(await page.locator("#seen .next").textContent(), /looks wrong from stitch/);
    await page.fill("#wrong-from", "4");
    assert.equal(await page.locator("#wrong-from").evaluate((field) => field.closest(".next")), null);
    await page.fill("#wrong-from", "");
    await page.fill("#yarn-overs", "12");
    await page.getByLabel("yes").check();
    assert.match(await first.textContent(), /^A stitch was dropped/);
    await page.getByLabel("no", { exact: true }).check();
    await page.fill("#yarn-overs", "11");
    assert.match(await first.textContent(), /^A yarn over was forgotten/);
    await page.fill("#yarn-overs", "");
    await page.fill("#wrong-from", "4");
    assert.match(await first.textContent(), /^A yarn over was forgotten.*stitch 4 \(repeat 2 of 12\)/);
    await page.fill("#found", "25");
    assert.equal(await page.locator("#slips").textContent(), "That is the right count.");
    await page.fill("#found", "3");
    assert.match(await page.locator("#slips").textContent(), /No single slip/);
    await page.fill("#found", "-1");
    assert.equal(await page.locator("#slips").textContent(), "");
  });
});

inBrowser("stitches that lie together tell one slip from another, and need not be counted", async () => {
  await withPage({}, async (page) => {
    for (let row = 0; row < 24; row++) await page.click("#on");
    await page.click("#ask-count");
    await page.fill("#found", "24");
    await page.fill("#yarn-overs", "0");
    await page.getByLabel("no", { exact: true }).check();
    const first = page.locator("#slips li").first();
    await page.getByLabel("Places in the row where stitches lie together in one").fill("1");
    assert.match(await first.textContent(), /^Two stitches were taken together/);
    await page.fill("#together", "0");
    await page.fill("#holes-below", "12");
    assert.match(await first.textContent(), /^A yarn over of the row before slipped off/);
    await page.fill("#together", "");
    await page.fill("#holes-below", "");
    assert.equal(await page.locator("#slips li").count(), 5, "what is left out rules nothing out");
  });
});

inBrowser("the row is found again after ripping back, and gone on with", async () => {
  await withPage({}, async (page) => {
    await page.click("#ask-ripped");
    await page.fill("[name=count]", "23");
    await page.check("[name=side][value=RS]");
    await page.fill("[name=above_holes]", "3");
    await page.fill("[name=hole_rows]", "12");
    assert.match(await page.locator("#fitting").textContent(), /^One row fits/);
    await page.locator("#places button").first().click();
    assert.equal(await heading(page), "Row 27");
    await page.click("#ask-ripped");
    await page.fill("[name=count]", "400");
    assert.match(await page.locator("#fitting").textContent(), /look once more/);
  });
});

for (const colorScheme of ["light", "dark"]) {
  inBrowser(`words stand out enough, and targets are large enough: ${colorScheme}`, async () => {
    await withPage({ colorScheme }, async (page) => {
      for (let row = 0; row < 19; row++) await page.click("#on");
      await page.keyboard.press("ArrowRight");
      assert.deepEqual(await page.evaluate(faint), []);
      const small = await page.locator("button:visible").evaluateAll((all) =>
        all.filter((one) => one.getBoundingClientRect().height < 44 || one.getBoundingClientRect().width < 24),
      );
      assert.equal(small.length, 0);
      const widths = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
      assert.equal(widths[0], widths[1], "the page is wider than the phone");
    });
  });
}

/** Texts whose ink and paper differ by less than 4.5 to 1 (WCAG 2.2, 1.4.3). */
function faint() {
  const light = (colour) => {
    const parts = colour.match(/[\d.]+/g).slice(0, 3).map((part) => part / 255);
    const [r, g, b] = parts.map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const paper = light(getComputedStyle(document.body).backgroundColor);
  const contrast = (ink) => (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
  return [...document.querySelectorAll("h1, h2, p, li, button, span, small, label, legend")]
    .filter((one) => one.textContent.trim() !== "")
    .map((one) => [one.textContent.trim().slice(0, 30), contrast(light(getComputedStyle(one).color))])
    .filter(([, ratio]) => ratio < 4.5);
}
