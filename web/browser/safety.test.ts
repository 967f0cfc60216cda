// Nothing typed is lost, two windows agree, and a text full of HTML stays text.

import { expect, it } from 'vitest';
import { PATTERN } from './pattern';
import { visit, type Window } from './program';
import { bringIn, Stage } from './stage';

const stage = new Stage();

/** The text in the editor, whole: the pattern is short enough to be all in sight. */
const typed = ({ page }: Window) =>
  page.locator('.cm-line').evaluateAll((lines) =>
    lines
      .map((line) => {
        const copy = line.cloneNode(true) as HTMLElement;
        for (const mark of copy.querySelectorAll('.reference')) mark.remove();
        return copy.textContent;
      })
      .join('\n'),
  );

async function typeAtEnd({ page }: Window, text: string): Promise<void> {
  await page.locator('.cm-content').click();
  await page.keyboard.press('Control+End');
  await page.keyboard.type(text, { delay: 12 });
}

it('what is typed while the program is gone is kept here, and sent when it is back', async () => {
  const window = await stage.open();
  const id = await bringIn(window.page, PATTERN);
  await window.page.getByText('Everything is kept').waitFor();
  await stage.program.kill();
  await typeAtEnd(window, 'Typed in the dark.');
  await window.page.getByText('cannot be reached').waitFor();
  await stage.program.start();
  const other = await stage.open();
  const token = await other.page.evaluate(() => localStorage.getItem('loopwright-token'));
  await window.page.evaluate((token) => localStorage.setItem('loopwright-token', token!), token);
  await window.page.getByText('Everything is kept').waitFor();
  await visit(other.page, `#/${id}/page/rows`);
  await other.page.locator('.cm-line', { hasText: 'Typed in the dark.' }).waitFor();
  await window.context.close();
  await other.context.close();
});

it('two windows on one project agree after both have typed', async () => {
  const one = await stage.open();
  const id = await bringIn(one.page, PATTERN);
  const other = await stage.open();
  await visit(other.page, `#/${id}/page/rows`);
  await other.page.locator('[data-place="0.0"]').waitFor();
  await other.page.locator('.cm-content').click();
  await other.page.keyboard.press('Control+Home');
  await Promise.all([
    typeAtEnd(one, 'The end of one window. '),
    other.page.keyboard.type('The head of the other. ', { delay: 15 }),
  ]);
  await expect.poll(() => typed(one), { timeout: 20_000 }).toContain('The head of the other. ');
  await expect.poll(() => typed(other), { timeout: 20_000 }).toContain('The end of one window. ');
  await expect.poll(async () => (await typed(one)) === (await typed(other)), { timeout: 20_000 }).toBe(true);
  expect(one.troubles.filter((trouble) => !trouble.includes('409'))).toEqual([]);
  await one.context.close();
  await other.context.close();
});

it('a text full of HTML stays text', async () => {
  const hostile = `<script>window.broken = 1</script>
<img src=x onerror="window.broken = 2"> & "quotes" '
Cast on 3. <b>1st row.</b>--<svg onload="window.broken=3">Knit 3.</svg>
<h1>2nd row.</h1>--Knit 4.`;
  const window = await stage.open();
  const id = await bringIn(window.page, hostile);
  for (const place of ['page/rows', 'page/chart', 'doubts', 'notation', 'title', 'page/cloth']) {
    await visit(window.page, `#/${id}/${place}`);
    await window.page.waitForTimeout(700);
    expect(await window.page.evaluate(() => 'broken' in globalThis)).toBe(false);
  }
  await visit(window.page, '#/');
  await window.page.getByRole('link', { name: '<script>window.broken = 1</script>' }).waitFor();
  expect(window.troubles.filter((trouble) => !trouble.includes('404'))).toEqual([]);
  await window.context.close();
});

it('a wrong token is told plainly', async () => {
  const window = await stage.open();
  await window.page.evaluate(() => localStorage.setItem('loopwright-token', 'wrong'));
  await window.page.reload();
  await window.page.locator('.message').filter({ hasText: /./ }).waitFor();
  await window.context.close();
});
