// Works for all: every place passes axe, by day and by night, on a desk and on a telephone, and by keyboard alone.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { AxeResults } from 'axe-core';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { visit, type Window } from './program';
import { Stage } from './stage';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

const stage = new Stage('--demo');

beforeAll(async () => {
  // At the needles there are more things to be seen in the midst of a row.
  const { page, context } = await stage.open();
  await visit(page, '#/1/needles');
  await page.locator('.now h2').waitFor();
  for (let row = 0; row < 23; row++) await page.keyboard.press('Enter');
  await page.keyboard.press(' ');
  await page.getByRole('contentinfo').getByText('Everything is kept').waitFor();
  await context.close();
});

/** Every place, with what shows that it has come. */
const PLACES: [hash: string, shown: string][] = [
  ['#/', 'article'],
  ['#/new', 'textarea'],
  ['#/help', 'dl'],
  ['#/1/page/text', '.cm-line'],
  ['#/1/page/scan', '.scan'],
  ['#/1/page/rows', '.rows li'],
  ['#/1/page/chart', '.plate svg'],
  ['#/1/page/cloth', '.frame canvas'],
  ['#/1/doubts', '.compared svg'],
  ['#/1/notation', 'tbody tr'],
  ['#/1/needles', '.groups button'],
  ['#/1/making', '.drawing svg:visible'],
  ['#/1/title', 'fieldset'],
];

const LIGHTS = ['light', 'dark'] as const;
const SCREENS = [
  { name: 'a desk', viewport: { width: 1440, height: 900 } },
  { name: 'a small desk', viewport: { width: 1024, height: 768 } },
  { name: 'a telephone', viewport: { width: 360, height: 740 } },
];

async function violations(page: Page): Promise<string[]> {
  const results: AxeResults = await page.evaluate(
    ([source, tags]) => {
      if (!('axe' in window)) (0, eval)(source as string);
      return (window as unknown as { axe: typeof import('axe-core') }).axe.run(document, {
        runOnly: tags as string[],
      });
    },
    [AXE, TAGS] as const,
  );
  return results.violations.map(
    ({ id, nodes }) =>
      `${id}: ${nodes.map(({ html, failureSummary }) => `${html}\n${failureSummary}`).join('\n')}`,
  );
}

const WAYS = LIGHTS.flatMap((colorScheme) =>
  SCREENS.map(({ name, viewport }) => ({ name, colorScheme, viewport })),
);

describe.each(WAYS)('on $name, $colorScheme paper', ({ colorScheme, viewport }) => {
  let window: Window;
  beforeAll(async () => void (window = await stage.open({ colorScheme, viewport, bypassCSP: true })));
  afterAll(() => window.context.close());

  it.each(PLACES)('%s', async (hash, shown) => {
    await visit(window.page, hash);
    await window.page.locator(shown).first().waitFor();
    expect(await violations(window.page)).toEqual([]);
    expect(await sideways(window.page)).toBeLessThanOrEqual(0);
    expect(window.troubles).toEqual([]);
  });
});

describe.each(WAYS)('asked at the needles, on $name, $colorScheme paper', ({ colorScheme, viewport }) => {
  it.each([
    ['c', 'Stitches found', '24', 'A yarn over was forgotten'],
    ['r', 'Count the stitches on the needle', '23', 'Go on with'],
  ])('%s', async (key, field, number, answer) => {
    const { page, context } = await stage.open({ colorScheme, viewport, bypassCSP: true });
    await visit(page, '#/1/needles');
    await page.locator('.groups button').first().waitFor();
    await page.keyboard.press(key);
    await page.getByLabel(field).fill(number);
    await page.getByText(answer).first().waitFor();
    expect(await violations(page)).toEqual([]);
    expect(await sideways(page)).toBeLessThanOrEqual(0);
    await context.close();
  });
});

describe.each(WAYS)('the plan as a form, on $name, $colorScheme paper', ({ colorScheme, viewport }) => {
  it('and as text', async () => {
    const { page, context, troubles } = await stage.open({ colorScheme, viewport, bypassCSP: true });
    await visit(page, '#/1/making');
    await page.locator('.drawing svg:visible').waitFor();
    await page.getByText('Change the plan').press('Enter');
    await page.getByText('The plan as text').press('Enter');
    await page.getByLabel('What the form says').waitFor();
    expect(await violations(page)).toEqual([]);
    expect(await sideways(page)).toBeLessThanOrEqual(0);
    expect(troubles).toEqual([]);
    await context.close();
  });
});

describe('at 200 % zoom', () => {
  let window: Window;
  beforeAll(
    async () =>
      void (window = await stage.open({
        viewport: { width: 640, height: 400 },
        deviceScaleFactor: 2,
      })),
  );
  afterAll(() => window.context.close());

  it.each(PLACES)('%s has nothing that must be scrolled for sideways', async (hash, shown) => {
    await visit(window.page, hash);
    await window.page.locator(shown).first().waitFor();
    expect(await sideways(window.page)).toBeLessThanOrEqual(0);
  });
});

/** How much wider the page is than its window. */
function sideways(page: Page): Promise<number> {
  return page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
}
