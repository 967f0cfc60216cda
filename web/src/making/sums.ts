// The small sums as sentences with blanks: what stands in them, and what is asked of the program when they are filled.

import type { Gauge, Sum } from '../api/types';
import { length, number as decimal } from '../text/written';

export type Kind = Sum['sum'];
export type Values = Record<string, string>;

/** What stands in the blanks at first; a choice always has an answer. */
export const BEGINNING: Record<Kind, Values> = {
  cast_on: { width: '', of: '1', plus: '0' },
  even: { change: 'increase', changes: '', stitches: '', worked: 'flat' },
  slope: { shapings: '', rows: '', which: 'right' },
  flat: { shape: 'circle' },
  pick_up: { rows: '' },
  pick_up_by_rule: { each: '3', beat: '4', rows: '' },
  knit_on: { rows: '', stitches: '' },
  yarn_number: { plies: '1', number: '', count: 'worsted' },
  stretch: { rest: '', to: '' },
  heel: { stitches: '' },
};

/** Whether a sum needs the gauge. */
export const needsGauge = (kind: Kind): boolean => ['cast_on', 'flat', 'pick_up'].includes(kind);

/** The sum that is asked; null while a blank is empty, or says what no such blank can say. */
export function sum(kind: Kind, values: Values, gauge: Gauge | null): Sum | null {
  if (needsGauge(kind) && !gauge) return null;
  const { gauge: known, ...asked } = filled(kind, values, gauge);
  if (Object.values(asked).some((value) => value === null)) return null;
  return (known ? { ...asked, gauge: known } : asked) as Sum;
}

function filled(kind: Kind, values: Values, gauge: Gauge | null): Record<string, unknown> {
  const number = (name: string): number | null => whole(values[name] ?? '');
  const measure = (name: string): string | null => length(values[name] ?? '');
  switch (kind) {
    case 'cast_on':
      return { sum: kind, width: measure('width'), of: number('of'), plus: number('plus'), gauge };
    case 'even': {
      const [decrease, worked] = [values.change === 'decrease', values.worked];
      return { sum: kind, changes: number('changes'), stitches: number('stitches'), decrease, worked };
    }
    case 'slope': {
      const any_row = values.which === 'any';
      return { sum: kind, shapings: number('shapings'), rows: number('rows'), any_row, gauge };
    }
    case 'flat':
      return { sum: kind, square: values.shape === 'square', gauge };
    case 'pick_up':
      return { sum: kind, rows: number('rows'), gauge };
    case 'pick_up_by_rule':
      return { sum: kind, rows: number('rows'), each: number('each'), of: number('beat') };
    case 'knit_on':
      return { sum: kind, stitches: number('stitches'), rows: number('rows') };
    case 'yarn_number': {
      const { count } = values;
      return { sum: kind, count, number: decimal(values.number ?? '') || null, plies: number('plies') };
    }
    case 'stretch':
      return { sum: kind, rest: measure('rest'), to: measure('to') };
    case 'heel':
      return { sum: kind, stitches: number('stitches') };
  }
}

/** The largest number that a blank can hold. */
const MOST = 20_000;

function whole(text: string): number | null {
  const number = Number(text);
  return text.trim() !== '' && Number.isInteger(number) && number >= 0 && number <= MOST ? number : null;
}
