// Asks the program: one function for each thing that can be asked.
//
// Knows the token and the addresses; knows nothing of what the answers are shown as. The program's own refusals are
// `Refused`, with its message and its help; that it could not be reached at all is `Unreachable`.

import type {
  About,
  Along,
  Change,
  Changed,
  Compared,
  Count,
  Entry,
  Fits,
  Label,
  Needles,
  Observed,
  Place,
  PlanForm,
  PlanRead,
  PlanText,
  PlanView,
  Project,
  ProjectState,
  Slips,
  Sum,
  SumAnswer,
  Term,
  View,
} from './types';

const TOKEN = 'loopwright-token';

/** The program was reached and said no. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    message: string,
    readonly help: string,
  ) {
    super(message);
  }

  /**
   * Whether it said no at the door, as to the token of an earlier start, and never looked at what was sent. Another
   * tab may bring the new token at any moment.
   */
  get atTheDoor(): boolean {
    return this.status === 401 || this.status === 403;
  }
}

/** The program could not be reached. */
export class Unreachable extends Error {}

/**
 * Takes the token that the program put behind the address (`/?project=ID#TOKEN`), keeps it, and clears the address.
 * All tabs share it, so that one with unsent changes goes on when the program was started again. Gives back the
 * project that was asked for.
 */
export function takeToken(): string | null {
  const fragment = location.hash.slice(1);
  if (fragment === '' || fragment.startsWith('/')) return null;
  localStorage.setItem(TOKEN, fragment);
  const project = new URLSearchParams(location.search).get('project');
  history.replaceState(null, '', '/#/');
  return project;
}

/** An answer of the program as it comes, for streams and pictures. */
export async function ask(path: string, init: RequestInit = {}): Promise<Response> {
  const headers = new Headers(init.headers);
  headers.set('Authorization', `Bearer ${localStorage.getItem(TOKEN) ?? ''}`);
  let response: Response;
  try {
    response = await fetch(`/api${path}`, { ...init, headers });
  } catch (error) {
    if (init.signal?.aborted) throw error;
    throw new Unreachable();
  }
  if (!response.ok) throw await refusal(response);
  return response;
}

async function refusal(response: Response): Promise<Refused> {
  const said = await response.json().catch(() => ({}));
  return new Refused(response.status, said.message ?? response.statusText, said.help ?? '');
}

async function get<T>(path: string): Promise<T> {
  return (await ask(path)).json();
}

async function send<T>(method: string, path: string, body?: unknown, init: RequestInit = {}): Promise<T> {
  const json =
    body === undefined ? {} : { body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } };
  const text = await (await ask(path, { method, ...init, ...json })).text();
  return (text === '' ? null : JSON.parse(text)) as T;
}

async function upload<T>(path: string, file: Blob, type: string): Promise<T> {
  return (await ask(path, { method: 'POST', body: file, headers: { 'Content-Type': type } })).json();
}

const project = (id: string): string => `/projects/${encodeURIComponent(id)}`;

export const api = {
  about: () => get<About>('/about'),
  terms: () => get<Term[]>('/terms'),

  sum: (sum: Sum) => send<SumAnswer>('POST', '/sums', sum),

  projects: () => get<Entry[]>('/projects'),
  create: (title: string, text: string) => send<{ id: string }>('POST', '/projects', { title, text }),
  putAway: (id: string) => send<null>('DELETE', project(id)),
  restore: (id: string) => send<null>('POST', `${project(id)}/restore`),
  importBundle: (file: Blob) => upload<{ id: string }>('/import', file, 'application/zip'),

  project: (id: string) => get<ProjectState>(project(id)),
  view: (id: string) => get<View>(`${project(id)}/view`),
  change: (id: string, base: number, window: string, changes: Change[]) =>
    send<Changed>('POST', `${project(id)}/changes`, { base, window, changes }),
  undo: (id: string, window: string) => send<ProjectState>('POST', `${project(id)}/undo`, { window }),
  redo: (id: string, window: string) => send<ProjectState>('POST', `${project(id)}/redo`, { window }),
  live: (id: string, signal: AbortSignal) => ask(`${project(id)}/live`, { signal }),

  chart: async (id: string, piece: number, side: 'right' | 'wrong', revision: number) =>
    (await ask(`${project(id)}/pieces/${piece}/chart?side=${side}&revision=${revision}`)).text(),
  cloth: async (id: string, piece: number) =>
    (await ask(`${project(id)}/pieces/${piece}/cloth.glb`)).arrayBuffer(),
  clothYarn: async (id: string, piece: number) =>
    (await ask(`${project(id)}/pieces/${piece}/yarn.glb`)).arrayBuffer(),
  clothPicture: async (id: string, piece: number, face: 'right' | 'wrong') =>
    (await ask(`${project(id)}/pieces/${piece}/cloth.png?face=${face}`)).blob(),

  compared: (id: string, doubt: string, option: number) =>
    get<Compared>(`${project(id)}/compared?${new URLSearchParams({ doubt, option: `${option}` })}`),
  comparedCloth: async (id: string, doubt: string, option: number, state: 'before' | 'after') =>
    (
      await ask(
        `${project(id)}/compared/cloth.png?${new URLSearchParams({ doubt, option: `${option}`, state })}`,
      )
    ).blob(),

  picture: async (id: string) => (await ask(`${project(id)}/picture.png`)).blob(),

  labels: (id: string) => get<Label[]>(`${project(id)}/labels`),
  label: (id: string, name: string) => send<null>('POST', `${project(id)}/labels`, { name }),
  labelled: (id: string, revision: number) => get<Project>(`${project(id)}/labels/${revision}`),
  labelledView: (id: string, revision: number) => get<View>(`${project(id)}/labels/${revision}/view`),

  along: (id: string) => get<Along>(`${project(id)}/along`),
  needles: (id: string) => get<Needles>(`${project(id)}/needles`),
  /** A move is sent to its end even where the page is closed meanwhile. */
  move: (id: string, window: string, place: Place) =>
    send<Needles>('PUT', `${project(id)}/needles`, { window, place }, { keepalive: true }),
  undoMove: (id: string, window: string) => send<Needles>('POST', `${project(id)}/needles/undo`, { window }),
  redoMove: (id: string, window: string) => send<Needles>('POST', `${project(id)}/needles/redo`, { window }),
  slips: (id: string, piece: number, count: Count) =>
    send<Slips>('POST', `${project(id)}/pieces/${piece}/slips`, count),
  fits: (id: string, piece: number, seen: Observed) =>
    send<Fits>('POST', `${project(id)}/pieces/${piece}/fits`, seen),

  plan: (id: string, signal: AbortSignal) =>
    ask(`${project(id)}/plan`, { signal }).then((answer): Promise<PlanView> => answer.json()),
  planForm: (id: string, text: string) => send<PlanRead>('POST', `${project(id)}/plan/form`, { text }),
  planText: (id: string, form: PlanForm, before: string) =>
    send<PlanText>('POST', `${project(id)}/plan/text`, { form, before }),

  addPage: (id: string, file: File) =>
    upload<{ page: number }>(`${project(id)}/pages?name=${encodeURIComponent(file.name)}`, file, file.type),
  page: async (id: string, page: number) => (await ask(`${project(id)}/pages/${page}`)).blob(),

  export: async (id: string, what: 'booklet.pdf' | 'rows.txt' | 'bundle.zip' | 'phone.html') =>
    (await ask(`${project(id)}/${what}`)).blob(),
};
