// What belongs together is lit together: words of the old page, squares of the chart, the way back; and nothing moves
// for those who asked that nothing should.

import type { Page } from 'playwright-core';
import { expect, it } from 'vitest';
import { PATTERN } from './pattern';
import { bringIn, Stage } from './stage';

const stage = new Stage();

const litWords = '.cm-content .lit';

it('words pointed at light the squares they made, and a square its words', async () => {
  const { context, page, troubles } = await stage.open();
  await bringIn(page, PATTERN);
  await page.getByRole('link', { name: 'Chart', exact: true }).click();
  await page.locator('.plate svg').waitFor();

  // From the page to the chart: a yarn over of the 3rd row.
  const word = page.locator('.cm-line', { hasText: '3rd row.' }).getByText('make 1').first();
  await word.hover();
  await page.locator('.lit-stitch').first().waitFor();
  expect(await page.locator('.lit-stitch').count()).toBe(1);
  expect((await page.locator(litWords).allTextContents()).join('')).toBe('make 1');

  // And back: every square of the 1st row lights words of the 1st row.
  const squares = page.locator('.plate [data-row~="0"][data-stitch]');
  const many = await squares.count();
  expect(many).toBeGreaterThan(2);
  for (const at of [0, many - 1]) {
    await squares.nth(at).hover();
    await page.waitForFunction(() => document.querySelector('.lit-stitch'));
    const line = page.locator('.cm-line', { has: page.locator('.lit') }).first();
    expect(await line.textContent()).toContain('1st row');
  }
  expect(troubles).toEqual([]);
  await context.close();
});

/** How many things on a page are set to move by themselves. */
const moving = (page: Page) =>
  page.evaluate(
    () =>
      [...document.querySelectorAll('*')].filter((element) => {
        const { animationName, transitionDuration } = getComputedStyle(element);
        return animationName !== 'none' || transitionDuration.split(', ').some((time) => time !== '0s');
      }).length,
  );

it('nothing moves where less motion is asked for', async () => {
  const { context, page, troubles } = await stage.open();
  await bringIn(page, PATTERN);
  await page.locator('.margin li').first().waitFor();
  await page.emulateMedia({ reducedMotion: 'no-preference' });
  expect(await moving(page)).toBeGreaterThan(0);
  await page.emulateMedia({ reducedMotion: 'reduce' });
  expect(await moving(page)).toBe(0);
  expect(troubles).toEqual([]);
  await context.close();
});
