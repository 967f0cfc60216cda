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
  const picture = (): Promise<string> =>
    page.evaluate(() => document.querySelector<HTMLCanvasElement>('.frame canvas')!.toDataURL());
  /** The picture when it stands still. */
  const still = async (): Promise<string> => {
    for (let last = ''; ;) {
      await page.waitForTimeout(500);
      const now = await picture();
      if (now === last) return now;
      last = now;
    }
  };
  /** The next picture that is another than the one before. */
  const seen = async (before: string): Promise<string> => {
    await expect.poll(picture, { timeout: 15_000 }).not.toBe(before);
    return still();
  };
  expect((await sent).ok()).toBe(true);
  const yarn = page.getByRole('button', { name: 'Yarn', exact: true });
  expect(await yarn.getAttribute('aria-pressed')).toBe('true');
  await yarn.click();
  const surface = await still();
  await yarn.click();
  const drawn = await seen(surface);
  await page.getByRole('button', { name: /wrong/i }).last().click();
  const wrong = await seen(drawn);
  await yarn.click();
  await seen(wrong);
  expect(troubles).toEqual([]);
  await context.close();
});
