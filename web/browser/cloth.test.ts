// The cloth as yarn: drawn, lit, and turned over.

import { expect, it } from 'vitest';
import { visit } from './program';
import { Stage } from './stage';

const stage = new Stage('--demo');

it('the yarn of a small piece is drawn at once, else its surface, from both sides', async () => {
  const { context, page, troubles } = await stage.open();
  await page.waitForLoadState('networkidle');
  await page
    .getByRole('link', { name: /carriage rug/i })
    .first()
    .click();
  await page.waitForURL(/#\/[^/]+\//);
  const sent = page.waitForResponse(/yarn\.glb/);
  await visit(
    page,
    page
      .url()
      .replace(/^[^#]*/, '')
      .replace(/\/page\/.*|$/, '/page/cloth'),
  );
  await page.locator('.frame canvas:not(.idle)').waitFor();
  const seen = async (): Promise<string> => {
    await page.waitForTimeout(1500);
    return page.evaluate(() => document.querySelector<HTMLCanvasElement>('.frame canvas')!.toDataURL());
  };
  expect((await sent).ok()).toBe(true);
  const yarn = await seen();
  await page.getByRole('button', { name: 'Yarn', exact: true, pressed: true }).click();
  const surface = await seen();
  expect(surface).not.toBe(yarn);
  await page.getByRole('button', { name: 'Yarn', exact: true, pressed: false }).click();
  expect(await seen()).toBe(yarn);
  await page.getByRole('button', { name: /wrong/i }).last().click();
  const wrong = await seen();
  expect(wrong).not.toBe(yarn);
  await page.getByRole('button', { name: 'Yarn', exact: true }).click();
  expect(await seen()).not.toBe(wrong);
  expect(troubles).toEqual([]);
  await context.close();
});
