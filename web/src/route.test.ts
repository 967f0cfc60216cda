import { describe, expect, it } from 'vitest';
import { href, parse, type Route } from './route.svelte';

const ROUTES: Route[] = [
  { name: 'shelf' },
  { name: 'new' },
  { name: 'help' },
  { name: 'page', id: '12', left: 'chart' },
  { name: 'page', id: '12', left: 'text' },
  { name: 'doubts', id: 'a/b c' },
  { name: 'notation', id: '12' },
  { name: 'title', id: '12' },
  { name: 'compare', id: '12', revision: 34 },
];

describe('an address', () => {
  it.each(ROUTES)('leads back to $name', (route) => {
    expect(parse(href(route))).toEqual(route);
  });

  it('that names no page of a project shows its rows', () => {
    expect(parse('#/12')).toEqual({ name: 'page', id: '12', left: 'rows' });
    expect(parse('#/12/page/elsewhere')).toEqual({ name: 'page', id: '12', left: 'rows' });
    expect(parse('')).toEqual({ name: 'shelf' });
  });
});
