import { BufferAttribute, BufferGeometry } from 'three';
import { expect, test } from 'vitest';
import { segments } from './yarn';

test('every segment of a line becomes an instance with its stitch', () => {
  const line = new BufferGeometry();
  line.setAttribute(
    'position',
    new BufferAttribute(new Float32Array([0, 0, 0, 1, 0, 0, 1, 2, 0, 5, 5, 5, 6, 5, 5]), 3),
  );
  line.setAttribute('_stitch', new BufferAttribute(new Float32Array([7, 7, 7, 8, 8]), 1));
  line.setIndex([0, 1, 1, 2, 3, 4]);
  const made = segments(line);
  expect(made.instanceCount).toBe(3);
  expect([...made.getAttribute('from').array]).toEqual([0, 0, 0, 1, 0, 0, 5, 5, 5]);
  expect([...made.getAttribute('to').array]).toEqual([1, 0, 0, 1, 2, 0, 6, 5, 5]);
  expect([...made.getAttribute('stitch').array]).toEqual([7, 7, 8]);
  expect([...made.getAttribute('before').array]).toEqual([0, 1, 3]);
});
