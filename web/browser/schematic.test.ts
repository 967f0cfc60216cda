// The schematic of a plan: its words can be read in any window, and stand apart.

import { expect, it } from 'vitest';
import { visit } from './program';
import { Stage } from './stage';

const stage = new Stage('--demo');

it('the words of the schematic can be read and stand apart, on a desk as on a telephone', async () => {
  const { page, context } = await stage.open();
  await visit(page, '#/1/making');
  for (const width of [1280, 390, 360]) {
    await page.setViewportSize({ width, height: 844 });
    await page.locator('.drawing text:visible').first().waitFor();
    expect(await page.evaluate(leastWords), `at ${width} px`).toBeGreaterThanOrEqual(11);
    expect(await page.evaluate(overlaps), `at ${width} px`).toEqual([]);
  }
  await context.close();
});

/** Height of the smallest words in the drawing, in pixels. */
function leastWords(): number {
  const heights = [...document.querySelectorAll<SVGTextElement>('.drawing text')]
    .filter((words) => words.checkVisibility())
    .map((words) => {
      const { a, b } = words.getScreenCTM()!;
      return Number.parseFloat(getComputedStyle(words).fontSize) * Math.hypot(a, b);
    });
  return Math.min(...heights);
}

/** Words of the drawing that lie over others, or beyond its edge. */
function overlaps(): string[] {
  const plate = [...document.querySelectorAll('.drawing svg')].find((svg) => svg.checkVisibility())!;
  const edge = plate.getBoundingClientRect();
  const words = [...plate.querySelectorAll('text')].map((text) => ({
    said: text.textContent ?? '',
    at: text.getBoundingClientRect(),
  }));
  const meet = (a: DOMRect, b: DOMRect) =>
    Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
    Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 3;
  const over = words.flatMap((one, i) =>
    words.slice(i + 1).flatMap((other) => (meet(one.at, other.at) ? [`${one.said} / ${other.said}`] : [])),
  );
  const beyond = words.filter(({ at }) => at.left < edge.left - 1 || at.right > edge.right + 1);
  return [...over, ...beyond.map(({ said }) => said)];
}
