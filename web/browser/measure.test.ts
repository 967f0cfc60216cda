// The measure of the page: a printed line stands whole beside its counts and its notes, and nothing covers the notes.

import { expect, it } from 'vitest';
import { visit } from './program';
import { bringIn, Stage } from './stage';

const stage = new Stage();

/** Lines of up to 66 letters, as an octavo page has them; own work. */
const TEXT = `Materials: four-thread fleecy, white, and wooden pins No. 8. The
squares are sewn together, and an edging worked round the whole.
Cast on 27 stitches. Knit four rows plain.

5th row.--Knit 4, * knit 1, make 1, slip 1, knit 1, pass the
slipped stitch over, knit 1, knit 2 together, make 1; repeat from
* twice more, knit 5.

6th row.--Knit 4, purl 19, knit 4.

7th row.--Knit 4, * knit 2, make 1, slip 1, knit 2 together, pass
the slipped stitch over, make 1, knit 1; repeat from * twice more,
knit 5.
`;

it('lines stand as they are printed on every desk, and notes are not covered on a telephone', async () => {
  const { page, context } = await stage.open();
  const id = await bringIn(page, TEXT);
  await page.locator('.reference').first().waitFor();
  for (const width of [900, 1024, 1199, 1200, 1280, 1366, 1440, 1600]) {
    await page.setViewportSize({ width, height: 900 });
    await expect.poll(() => page.evaluate(turnedOver), { message: `at ${width} px` }).toEqual([]);
  }
  for (const width of [820, 390]) {
    await page.setViewportSize({ width, height: 844 });
    await visit(page, `#/${id}/page/text`);
    const notes = page.getByRole('complementary').getByRole('button', { name: 'Next note' });
    await notes.click({ trial: true, timeout: 5000 });
  }
  await context.close();
});

/** The lines that are broken where no line ends in print. */
function turnedOver(): string[] {
  const lines = [...document.querySelectorAll<HTMLElement>('.cm-line')];
  return lines
    .filter((line) => line.offsetHeight > 1.5 * Number.parseFloat(getComputedStyle(line).lineHeight))
    .map((line) => line.textContent ?? '');
}
