// Any view can be printed: ink on white, without the controls, and with all that it says.

import { expect, it } from 'vitest';
import { visit } from './program';
import { Stage } from './stage';

const stage = new Stage('--demo');

/** Every place that one would print, what shows that it has come, and words that must be on paper. */
const PLACES: [hash: string, shown: string, words: RegExp][] = [
  ['#/1/page/rows', '[data-place="2.3"]', /Border[^]*Abbreviations/i],
  ['#/1/page/text', '.cm-line', /THE SQUARE|Carriage/i],
  ['#/1/page/chart', '.plate svg', /Chart|square/i],
  ['#/1/doubts', 'article', /Doubts/],
  ['#/1/notation', 'tbody tr', /The notation in force/],
  ['#/1/needles', '.groups button, .begin', /Cast on/],
  ['#/1/making', '.drawing svg:visible', /Finished size[^]*Yarn[^]*Hours/],
  ['#/1/title', 'fieldset', /Title/],
  ['#/help', 'dl', /Terms of the time/],
];

it.each(PLACES)('%s', async (hash, shown, words) => {
  const { page, context } = await stage.open({ colorScheme: 'dark' });
  await visit(page, hash);
  await page.locator(shown).first().waitFor();
  await page.emulateMedia({ media: 'print' });
  expect(await page.locator('header nav, footer').filter({ visible: true }).count()).toBe(0);
  const paper = await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
  expect(paper).toBe('rgb(255, 255, 255)');
  expect(await page.locator('main').first().innerText()).toMatch(words);
  const pdf = (await page.pdf()).toString('latin1');
  expect(pdf.match(/\/Type\s*\/Page[^s]/g)?.length ?? 0).toBeGreaterThan(0);
  await context.close();
});
