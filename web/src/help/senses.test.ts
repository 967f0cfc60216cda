import { expect, it } from 'vitest';
import { bySense } from './senses';

it('terms of one sense make one entry with all years and each source once', () => {
  const common = { ops: ['yo'], symbol: null };
  const meanings = bySense([
    { ...common, term: 'make 1', sense: 'yarn over', period: '1830–1890', source: 'Lambert 1843; Beeton 1870' },
    { ...common, ops: ['p'], term: 'pearl', sense: 'purl', period: '1850', source: 'Beeton 1870' },
    { ...common, term: 'over', sense: 'yarn over', period: '1860–1920', source: 'Beeton 1870' },
  ]);
  expect(meanings).toEqual([
    { sense: 'yarn over', symbol: null, printed: ['make 1', 'over'], period: '1830–1920', sources: ['Lambert 1843', 'Beeton 1870'] },
    { sense: 'purl', symbol: null, printed: ['pearl'], period: '1850', sources: ['Beeton 1870'] },
  ]);
});
