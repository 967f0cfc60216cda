import { describe, expect, it } from 'vitest';
import { tell } from './live';

function told(block: string): [string, unknown][] {
  const events: [string, unknown][] = [];
  tell(block, (event, data) => events.push([event, data]));
  return events;
}

describe('a block of the stream', () => {
  it('is an event with its data', () => {
    expect(told('event: state\ndata: {"revision": 7}')).toEqual([['state', { revision: 7 }]]);
  });

  it('may carry its data in several lines, ended in any way', () => {
    expect(told('event:view\r\ndata: {"rows":\r\ndata: []}')).toEqual([['view', { rows: [] }]]);
  });

  it('without data is only a sign of life', () => {
    expect(told(': still there')).toEqual([]);
    expect(told('')).toEqual([]);
  });
});
