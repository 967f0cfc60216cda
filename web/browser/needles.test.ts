// At the needles: no step is lost, each piece keeps its place, and what she asks is answered in words.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Page } from 'playwright-core';
import { expect, it } from 'vitest';
import { visit, type Window } from './program';
import { bringIn, Stage } from './stage';

const stage = new Stage('--demo');

/** The first rows of a shoulder, worked while the other waits. */
const SHOULDER = `Cast on 24 stitches.

1st row.--Knit 10, knit 2 together, turn.

2nd row.--Knit 11.`;

async function atNeedles(options = {}): Promise<Window> {
  const window = await stage.open(options);
  await visit(window.page, '#/1/needles');
  await window.page.locator('.now h2').waitFor();
  return window;
}

const heading = (page: Page) => page.locator('.now h2').textContent();
const group = (page: Page) => page.locator('.groups [aria-current="step"]').textContent();
const kept = (page: Page) => page.getByRole('contentinfo').getByText('Everything is kept').waitFor();
const piece = (page: Page, name: string) =>
  page.getByRole('navigation', { name: 'Pieces under way' }).getByRole('button', { name });

/** Says what is shown of a place: row, group, and the squares of the chart that are lit. */
async function shown(page: Page) {
  const lit = await page
    .locator('.plate .group-lit')
    .evaluateAll((squares) => squares.map(({ dataset }) => `${dataset.row}.${dataset.stitch}`));
  return { heading: await heading(page), group: await group(page), lit };
}

it('twenty rows are worked, the browser closed, the program killed, and the work goes on at the same stitch', async () => {
  const before = await atNeedles();
  expect(await heading(before.page)).toBe('Cast on');
  await before.page.keyboard.press('Enter');
  for (let row = 1; row <= 20; row++) {
    expect(await heading(before.page)).toBe(`Row ${row}`);
    await before.page.keyboard.press('ArrowDown');
  }
  await before.page.keyboard.press('Enter');
  await before.page.keyboard.press('Enter');
  for (let step = 0; step < 7; step++) await before.page.keyboard.press(' ');
  expect(await heading(before.page)).toBe('Row 23');
  expect(await group(before.page)).toBe('yo, k2tog7 of 12');
  const place = await shown(before.page);
  expect(place.lit.length).toBe(2);
  await kept(before.page);
  expect(before.troubles).toEqual([]);
  await before.context.close();
  await stage.program.kill();

  await stage.program.start();
  const after = await atNeedles();
  expect(await shown(after.page)).toEqual(place);
  // What stood before the restart can still be taken back, and apart from the text.
  await after.page.keyboard.press('Control+z');
  await expect.poll(() => group(after.page)).toBe('yo, k2tog6 of 12');
  await after.page.keyboard.press('Control+Shift+z');
  await expect.poll(() => shown(after.page)).toEqual(place);
  expect(after.troubles).toEqual([]);
  await after.context.close();
});

it('a step is kept even where the page is closed the moment after it', async () => {
  const one = await atNeedles();
  await one.page.keyboard.press('ArrowDown');
  const row = await heading(one.page);
  await one.page.close();
  const other = await atNeedles();
  await expect.poll(() => heading(other.page)).toBe(row);
  await other.context.close();
  await one.context.close();
});

it('each piece keeps its place, and windows follow one another', async () => {
  const [one, other] = [await atNeedles(), await atNeedles()];
  const row = await heading(one.page);
  await piece(one.page, 'the border').click();
  await one.page.getByRole('button', { name: 'Cast on', exact: true }).click();
  await one.page.getByRole('button', { name: 'Row done' }).click();
  await one.page.getByRole('button', { name: 'Row done' }).click();
  await expect.poll(() => heading(other.page)).toBe('Row 3');
  await piece(other.page, 'the border').getByText('row 3 of').waitFor();
  await piece(other.page, 'the square').click();
  expect(await heading(other.page)).toBe(row);
  await expect.poll(() => heading(one.page)).toBe(row);
  await other.context.close();
  await one.context.close();
});

it('after one piece is done another is begun, and the place tells which', async () => {
  const { page, context } = await stage.open();
  const id = await bringIn(page, 'Cast on 4.\n\n1st row.--Knit 4.\n\n2nd row.--Cast off.\n');
  await page.locator('.rows li').nth(1).waitFor();
  await visit(page, `#/${id}/needles`);
  for (const name of ['Cast on', 'Row done', 'Row done'])
    await page.getByRole('button', { name, exact: true }).click();
  expect(await heading(page)).toBe('The end');
  await page.getByRole('button', { name: 'Begin another' }).click();
  await page.getByRole('button', { name: 'Cast on', exact: true }).click();
  await page.getByText('row 1 of 2, the 2nd').waitFor();
  await kept(page);
  await page.reload();
  await page.getByText('row 1 of 2, the 2nd').waitFor();
  await context.close();
});

it('steps made while the program is away are kept here, and sent when it is back', async () => {
  const window = await atNeedles();
  await piece(window.page, 'the round').click();
  await kept(window.page);
  await stage.program.kill();
  await window.page.keyboard.press('Enter');
  await window.page.keyboard.press('Enter');
  await window.page.getByText('The program cannot be reached').waitFor();
  const row = await heading(window.page);
  // A step too many, and back again.
  await window.page.keyboard.press('Enter');
  expect(await heading(window.page)).not.toBe(row);
  await window.page.keyboard.press('Control+z');
  expect(await heading(window.page)).toBe(row);
  // Other places can be gone to meanwhile.
  await visit(window.page, '#/1/title');
  await visit(window.page, '#/1/needles');
  expect(await heading(window.page)).toBe(row);
  await stage.program.start();
  const other = await stage.open();
  const token = await other.page.evaluate(() => localStorage.getItem('loopwright-token'));
  await window.page.evaluate((token) => localStorage.setItem('loopwright-token', token!), token);
  await kept(window.page);
  await visit(other.page, '#/1/needles');
  await expect.poll(() => heading(other.page)).toBe(row);
  await window.context.close();
  await other.context.close();
});

it('a wrong count names the slip and goes to it; a lost place is found by what is seen', async () => {
  const { page, context, troubles } = await atNeedles();
  await piece(page, 'the square').click();
  while ((await heading(page)) !== 'Row 23') await page.keyboard.press('ArrowUp');
  await page.keyboard.press('c');
  await page.getByLabel('Stitches found').fill('25');
  await page.getByText('That is the right count').waitFor();
  await page.getByLabel('Stitches found').fill('24');
  const first = page.locator('dialog li').first();
  // One of the questions that are open is marked, and another, or none, once it is answered.
  const marked = page.locator('dialog .fields .mark');
  await expect.poll(() => marked.allTextContents()).toEqual(['tells most next']);
  const wrongFrom = page.locator('dialog label', { hasText: 'The row looks wrong from' });
  await wrongFrom.locator('input').fill('4');
  await expect.poll(() => wrongFrom.locator('.mark').count()).toBe(0);
  await wrongFrom.locator('input').fill('');
  await expect.poll(() => marked.count()).toBe(1);
  await page.getByLabel('Yarn overs that lie on the needles').fill('12');
  await page.getByLabel('yes').check();
  await first.getByText('A stitch was dropped').waitFor();
  await page.getByRole('group', { name: 'loose loop' }).getByLabel('cannot say').check();
  await page.getByLabel('Yarn overs that lie on the needles').fill('');
  await page.getByLabel('The row looks wrong from').fill('4');
  await first.getByText('A yarn over was forgotten').waitFor();
  expect(await first.textContent()).toContain('stitch 4 (repeat 2 of 12)');
  // Stitches that lie together speak for a decrease that was left out, or against it; they need not be counted.
  await page.getByLabel('The row looks wrong from').fill('');
  await page.getByLabel('Stitches found').fill('26');
  const together = page.getByLabel('Places in the row where stitches lie together');
  await together.fill('11');
  await first.getByText('A decrease was forgotten').waitFor();
  await page.getByLabel('Yarn overs that lie on the needles').fill('13');
  await together.fill('12');
  await first.getByText('There is a yarn over too many').waitFor();
  await page.getByLabel('Yarn overs that lie on the needles').fill('');
  await together.fill('');
  await page.getByLabel('Stitches found').fill('24');
  await page.getByLabel('The row looks wrong from').fill('4');
  await first.getByText('stitch 4 (repeat 2 of 12)').waitFor();
  await first.getByRole('button', { name: 'Work on from there' }).click();
  await page.locator('dialog').waitFor({ state: 'detached' });
  expect([await heading(page), await group(page)]).toEqual(['Row 23', 'yo, k2tog2 of 12']);

  await page.keyboard.press('r');
  await page.getByLabel('Count the stitches on the needle').fill('23');
  await page.getByLabel('right side').check();
  await page.getByText('rows fit; look at one thing more').waitFor();
  await page.getByText('tells most next').waitFor();
  await page.getByLabel('Count the rows with holes').fill('8');
  await page.getByText('One row fits').waitFor();
  const words = await page.locator('dialog li .title').first().textContent();
  await page.getByRole('button', { name: 'Go on from here' }).first().click();
  await page.locator('dialog').waitFor({ state: 'detached' });
  expect(words).toContain(`Go on with ${(await heading(page))?.toLowerCase()}`);
  await kept(page);
  await page.keyboard.press('Control+z');
  await expect.poll(() => heading(page)).toBe('Row 23');
  expect(troubles).toEqual([]);
  await context.close();
});

it('stitches that wait behind a turn are told apart from those in hand', async () => {
  const { page, context, troubles } = await stage.open();
  const id = await bringIn(page, SHOULDER);
  await visit(page, `#/${id}/needles`);
  while ((await heading(page)) !== 'Row 1') await page.keyboard.press('Enter');
  await expect
    .poll(() => page.locator('.after').innerText())
    .toMatch(/^11 stitches in hand after this row; 12 more wait/);
  await page.keyboard.press('c');
  await page.getByText('there should be 11 stitches in hand; do not count those that wait').waitFor();
  await page.getByLabel('Stitches found').fill('12');
  await page.locator('dialog li').first().getByText('A decrease was forgotten').waitFor();
  expect(troubles).toEqual([]);
  await context.close();
});

it('a browser that cannot keep the screen on says so', async () => {
  const context = await stage.browser.newContext();
  await context.addInitScript(() => Reflect.deleteProperty(Navigator.prototype, 'wakeLock'));
  const page = await context.newPage();
  await page.goto(stage.program.address);
  await visit(page, '#/1/needles');
  await page.getByText('This browser cannot keep the screen on').waitFor();
  await context.close();
});

it('taps and swipes lead through the rows on a telephone', async () => {
  const window = await atNeedles({ viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true });
  const { page } = window;
  await piece(page, 'the square').tap();
  await expect.poll(() => heading(page)).toBe('Row 23');
  await page.locator('.groups [aria-current="step"]').tap();
  await expect.poll(() => group(page)).toBe('yo, k2tog3 of 12');
  const client = await window.context.newCDPSession(page);
  const swipe = async (from: number, to: number): Promise<void> => {
    const point = (x: number) => [{ x, y: 330 }];
    await client.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: point(from) });
    await client.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: point(to) });
    await client.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
  };
  await swipe(300, 60);
  await expect.poll(() => heading(page)).toBe('Row 24');
  await swipe(60, 300);
  await expect.poll(() => heading(page)).toBe('Row 23');
  await window.context.close();
});

it('the file for the phone works by itself, without a network, and keeps its place', async () => {
  const { page, context } = await atNeedles();
  const here = await heading(page);
  const [taken] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Take it along on the phone' }).click(),
  ]);
  expect(taken.suggestedFilename()).toBe('a-carriage-rug-in-twelve-squares-phone.html');
  const file = join(stage.program.shelf, 'phone.html');
  await taken.saveAs(file);
  await context.close();
  expect(readFileSync(file, 'utf8')).not.toMatch(/(src|href)="https?:/);

  const phone = await stage.browser.newContext({
    viewport: { width: 360, height: 740 },
    hasTouch: true,
    isMobile: true,
    offline: true,
  });
  const alone = await phone.newPage();
  const asked: string[] = [];
  const troubles: string[] = [];
  alone.on('request', (request) => asked.push(request.url()));
  alone.on('pageerror', (error) => troubles.push(error.message));
  await alone.goto(pathToFileURL(file).href);
  // It begins where she is, and says so until she goes on.
  const begins = await alone.locator('#heading').textContent();
  expect(begins).toBe(here);
  await alone.getByText(`when you were at ${begins!.toLowerCase()}`).waitFor();
  const next = `Row ${Number(/\d+/.exec(begins!)![0]) + 1}`;
  await alone.getByRole('button', { name: 'Row done' }).tap();
  expect(await alone.locator('#heading').textContent()).toBe(next);
  expect(await alone.locator('#made').isVisible()).toBe(false);
  await alone.reload();
  expect(await alone.locator('#heading').textContent()).toBe(next);
  expect(asked.every((url) => url.startsWith('file:'))).toBe(true);
  expect(troubles).toEqual([]);
  await phone.close();
});

/** How long what is written may take to go to the program and back. */
const WAIT = { timeout: 10_000 };

it('a plan is filled in as a form, and its text says the same', async () => {
  const { page, context, troubles } = await stage.open();
  const id = await bringIn(
    page,
    'THE SQUARE.\n\nCast on 6.\n\n1st row.--Knit 6.\n\n2nd row.--Knit 6.\n\nTHE EDGE.\n\nCast on 3.\n\n1st row.--Knit 3.\n\n2nd row.--Knit 3.\n',
  );
  await page.locator('.rows section').nth(1).waitFor();
  await visit(page, `#/${id}/making`);
  await page.getByRole('button', { name: 'Begin with one of each piece' }).click();
  const part = (name: string) => page.getByRole('region', { name, exact: true });
  await part('Pieces').getByLabel('How many').first().fill('4');
  await part('Pieces').getByLabel('Colour').first().fill('grey');
  await part('Pieces').getByLabel('Size').first().selectOption('measured:');
  await part('Pieces').getByLabel('Width').fill('8 in');
  await part('Pieces').getByLabel('Height').fill('8 in');
  await part('Pieces').getByLabel('Name of the piece').first().fill('ivy square');

  // The block: two rows of two, one of them turned by a quarter, by keys alone.
  await part('Side by side').getByRole('button', { name: 'Lay pieces side by side' }).press('Enter');
  await part('Side by side').getByLabel('Rows of the block').fill('2');
  await part('Side by side').getByLabel('Rows of the block').press('Enter');
  await part('Side by side').getByRole('button', { name: 'Row 2, place 1: turned by 0°' }).press('Space');
  await part('Side by side').getByRole('button', { name: 'Row 2, place 1: turned by 90°' }).waitFor();

  await part('Edging').getByRole('button', { name: 'Add an edging' }).click();
  await part('Edging').getByLabel('Piece').selectOption('edge');
  await part('Edging').getByLabel('How it is put on').selectOption('knitted on as it is worked');
  await part('Yarn').getByRole('button', { name: 'Add a yarn' }).click();
  await part('Yarn').getByLabel('Metres in 100 g').fill('115');
  await part('Needles').getByRole('button', { name: 'Add needles' }).click();
  await page.getByText('The plan as text').click();
  const text = page.getByLabel('What the form says');
  await expect.poll(() => text.inputValue(), WAIT).toContain('gauge = "millimetres"');
  // What is changed without a pause is undone in one go; this change shall be undone by itself.
  await page.waitForTimeout(1500);
  await part('Needles').getByLabel('ivy square').check();

  await expect.poll(() => text.inputValue(), WAIT).toBe(`[[piece]]
name = "ivy square"
of = 1
count = 4
colour = "grey"
size = { width = "8 in", height = "8 in" }

[[piece]]
name = "edge"
count = 1

[block]
rows = [
    "ivy_square ivy_square",
    "ivy_square@90 ivy_square",
]

[edging]
piece = "edge"
joined = "knitted-on"

[[yarn]]
colour = "grey"
metres = 115
ball = 50

[[needle]]
number = "4"
gauge = "millimetres"
pieces = ["ivy square"]
`);

  // The gauge told, the plan is worked out; what is undone is undone in the form as well.
  await page.getByLabel('stitches', { exact: true }).fill('20');
  await page.getByLabel('rows', { exact: true }).fill('28');
  await page.getByLabel('rows', { exact: true }).blur();
  await page.getByText('4 × ivy square').first().waitFor();
  await page.getByText('Everything is kept').waitFor();
  await page.locator('body').click({ position: { x: 3, y: 300 } });
  await page.keyboard.press('Control+z');
  await page.keyboard.press('Control+z');
  await expect.poll(() => part('Needles').getByLabel('ivy square').isChecked(), WAIT).toBe(false);

  // The text written by hand changes the form, or says where it is none.
  await text.fill('[[piece]]\nname = "edge"\ncount = 7\n');
  await text.blur();
  await expect.poll(() => part('Pieces').getByLabel('How many').inputValue(), WAIT).toBe('7');
  await text.fill('[[piece]]\nname = edge\n');
  await text.blur();
  await page.getByRole('alert').filter({ hasText: 'line 2' }).waitFor();
  expect(troubles).toEqual([]);
  await context.close();
});

it('a plan is begun, lacks its swatch, and is worked out once there is a gauge', async () => {
  const { page, context, troubles } = await stage.open();
  const id = await bringIn(page, 'Cast on 4.\n\n1st row.--Knit 4.\n');
  await page.locator('.rows li').first().waitFor();
  await visit(page, `#/${id}/making`);
  await page.getByRole('button', { name: 'Begin with one of each piece' }).click();
  await page.getByText('There is no gauge yet').waitFor();
  expect(await page.getByRole('group', { name: 'What to cast on' }).count()).toBe(0);
  await page.getByLabel('stitches', { exact: true }).fill('20');
  await page.getByLabel('rows', { exact: true }).fill('28');
  await page.getByLabel('rows', { exact: true }).blur();
  await page.getByRole('img', { name: 'The pieces laid out' }).waitFor();
  await page.getByText('20 stitches and 28 rows of plain fabric').waitFor();

  // Days, where they are wanted.
  await page.getByLabel('First day').fill('2027-01-04');
  await page.getByRole('columnheader', { name: 'Days' }).waitFor();
  await page.getByText('4 Jan 2027').waitFor();

  // The small sums are done as soon as their blanks are filled.
  const even = page.getByRole('group', { name: 'spread evenly' });
  await even.getByLabel('How often').fill('7');
  await even.getByLabel('Stitches', { exact: true }).fill('50');
  await even.getByText('k4, (m1, k7) 6 times, m1, k4: 57 stitches').waitFor();
  await even.getByLabel('Increase or decrease').selectOption('Decrease');
  await even.getByText('43 stitches').waitFor();
  await even.getByLabel('How often').fill('70');
  await even.getByText('70 changes cannot be spread over 50 stitches').waitFor();
  const castOn = page.getByRole('group', { name: 'What to cast on' });
  await castOn.getByLabel('Width').fill('50');
  await castOn.getByLabel('Stitches of a repeat').fill('12');
  await castOn.getByLabel('Stitches over').fill('1');
  await castOn.getByText('97 stitches, 8 repeats and 1 over: 48.5 cm').waitFor();
  expect(troubles).toEqual([]);
  await context.close();
});
