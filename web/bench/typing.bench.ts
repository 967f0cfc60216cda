// How long a keystroke's results take to be on screen, in a pattern of 60 rows.
//
// A digit of row 30 is rubbed out and typed again, over and over. From the key's own time stamp to the frame in which
// the row in the terms of today reads otherwise; beside it, what part of that the program took to answer.
// Nothing here is drawn in space, and a graphics card imitated by the processor would take a core from the program.

import { test } from 'vitest';
import { browserWithoutCard, openWindow, Program, visit } from '../browser/program';

const KEYS = 240;
/** The first keys warm everything up and are not counted. */
const WARM = 40;
/** Milliseconds between keys, one after the other: as uneven as typing is. */
const PAUSES = [90, 130, 110, 240, 100, 170];

const ROWS = Array.from(
  { length: 60 },
  (_, i) =>
    `Row ${i + 1}.--Slip 1, knit 2, make 1, knit 2 together, knit ${i % 2 === 0 ? '10, make 1, knit 2 together' : '12'}, knit 3.`,
);
const TEXT = `A BROAD EDGING.\n\nCast on 20 stitches.\n\n${ROWS.join('\n\n')}\n`;

interface Sample {
  /** From the key to the frame. */
  shown: number;
  /** From the request to the end of the answer. */
  answered: number;
  /** From the end of the answer to the frame. */
  drawn: number;
}

test('a keystroke to its results', async () => {
  const program = new Program();
  await program.start();
  const chromium = await browserWithoutCard();
  const { page } = await openWindow(chromium, program);
  await visit(page, '#/new');
  await page.getByLabel('The old text').fill(TEXT);
  await page.getByRole('button', { name: 'Read it' }).click();
  await page.locator('[data-place="0.59"]').waitFor();
  await page.locator('[data-place="0.29"]').click();
  await page.locator('.cm-line', { hasText: 'Row 30.' }).click();
  await page.keyboard.press('End');
  for (let i = 0; i < ', knit 3.'.length; i++) await page.keyboard.press('ArrowLeft');
  await page.evaluate(watch);

  for (let key = 0; key < KEYS; key++) {
    await page.keyboard.press(key % 2 === 0 ? 'Backspace' : '2');
    await page.waitForTimeout(PAUSES[key % PAUSES.length]!);
  }
  const samples = (await page.evaluate(() => (window as unknown as { samples: Sample[] }).samples)).slice(
    WARM,
  );
  console.log(`${samples.length} of ${KEYS - WARM} keys had results of their own`);
  console.log(`on screen: ${spread(samples.map(({ shown }) => shown))}`);
  console.log(`of that, until the program has answered: ${spread(samples.map(({ answered }) => answered))}`);
  console.log(`from then on to the frame: ${spread(samples.map(({ drawn }) => drawn))}`);
  await chromium.close();
  await program.clear();
});

/** Runs in the page: notes for each key when row 30 reads otherwise, and how long the last answer took. */
function watch(): void {
  const samples: Sample[] = [];
  let pressed = 0;
  let answer: PerformanceEntry | undefined;
  Object.assign(window, { samples });
  addEventListener('keydown', (event) => void (pressed = event.timeStamp), true);
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) if (entry.name.endsWith('/changes')) answer = entry;
  }).observe({ type: 'resource' });
  const row = document.querySelector('[data-place="0.29"] .written')!;
  new MutationObserver(() => {
    const since = pressed;
    if (since === 0) return;
    pressed = 0;
    requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => {
        if (!answer) return;
        const now = performance.now();
        const { startTime, duration } = answer;
        samples.push({ shown: now - since, answered: duration, drawn: now - startTime - duration });
      };
      port2.postMessage(null);
    });
  }).observe(row, { characterData: true, childList: true, subtree: true });
}

function spread(values: number[]): string {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (part: number): string =>
    `${(sorted[Math.floor(part * (sorted.length - 1))] ?? NaN).toFixed(1)} ms`;
  return `median ${at(0.5)}, 95th percentile ${at(0.95)}, longest ${at(1)}`;
}
