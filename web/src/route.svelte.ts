// Where the reader is: the part of the address behind `#`.
//
//     #/                       the shelf            #/help          help
//     #/new                    a new pattern        #/ID/doubts     doubts of a project
//     #/ID/page/rows           the opening          #/ID/notation, #/ID/title
//     #/ID/needles             at the needles       #/ID/making     the making up
//     #/ID/compare/12          a kept state against now

export const LEFT_PAGES = ['scan', 'rows', 'chart', 'cloth'] as const;
export type LeftPage = (typeof LEFT_PAGES)[number];

/** Places of a project that need no more words in the address. */
const PLACES = ['doubts', 'notation', 'making', 'needles', 'title'] as const;

/** The places of a project in the order of the work. */
export const WAY = ['page', ...PLACES] as const;
export type Place = (typeof WAY)[number];

export type Route =
  | { name: 'shelf' }
  | { name: 'new' }
  | { name: 'help' }
  | { name: 'page'; id: string; left: LeftPage | 'text' }
  | { name: (typeof PLACES)[number]; id: string }
  | { name: 'compare'; id: string; revision: number };

export function parse(hash: string): Route {
  const [first, place, rest] = hash
    .replace(/^#?\/?/, '')
    .split('/')
    .map(decodeURIComponent);
  if (!first) return { name: 'shelf' };
  if (first === 'new' || first === 'help') return { name: first };
  const plain = PLACES.find((one) => one === place);
  if (plain) return { name: plain, id: first };
  if (place === 'compare' && rest) return { name: 'compare', id: first, revision: Number(rest) };
  const left = [...LEFT_PAGES, 'text' as const].find((page) => page === rest) ?? 'rows';
  return { name: 'page', id: first, left };
}

/** A place of a project, as it is first come to. */
export function placeOf(id: string, name: Place): Route {
  return name === 'page' ? { name, id, left: 'rows' } : { name, id };
}

export function href(route: Route): string {
  switch (route.name) {
    case 'shelf':
      return '#/';
    case 'new':
    case 'help':
      return `#/${route.name}`;
    case 'page':
      return `#/${encodeURIComponent(route.id)}/page/${route.left}`;
    case 'compare':
      return `#/${encodeURIComponent(route.id)}/compare/${route.revision}`;
    default:
      return `#/${encodeURIComponent(route.id)}/${route.name}`;
  }
}

class Here {
  route = $state.raw<Route>({ name: 'shelf' });

  constructor() {
    const read = (): void => void (this.route = parse(location.hash));
    window.addEventListener('hashchange', read);
    read();
  }
}

let here: Here | undefined;

/** The one reader's place; made when first asked for, after the token is out of the address. */
export function place(): Here {
  return (here ??= new Here());
}

export function go(route: Route): void {
  location.hash = href(route);
}
