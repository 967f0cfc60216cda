// What the program tells of itself: the events of one project, as they come.
//
// The stream is read with `fetch`, because it needs the token; the form is that of server-sent events (HTML standard,
// section 9.2). A stream that ends is asked for again, a little later each time.

import { api } from './client';

export type Live = (event: string, data: unknown) => void;

const FIRST_WAIT = 500;
const LONGEST_WAIT = 8000;

/** Listens until the signal says stop. `opened` is called at each new connection, for what was missed meanwhile. */
export async function listen(id: string, signal: AbortSignal, opened: () => void, live: Live): Promise<void> {
  let wait = FIRST_WAIT;
  while (!signal.aborted) {
    try {
      const response = await api.live(id, signal);
      wait = FIRST_WAIT;
      opened();
      if (response.body) await readEvents(response.body, live);
    } catch {
      if (signal.aborted) return;
    }
    await new Promise((resolve) => setTimeout(resolve, wait));
    wait = Math.min(wait * 2, LONGEST_WAIT);
  }
}

async function readEvents(body: ReadableStream<Uint8Array>, live: Live): Promise<void> {
  const reader = body.pipeThrough(new TextDecoderStream() as ReadableWritablePair<string, Uint8Array>).getReader();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    const blocks = (rest + value).split(/\r?\n\r?\n/);
    rest = blocks.pop() ?? '';
    for (const block of blocks) tell(block, live);
  }
}

/** Tells one block of lines as an event; blocks without data are only signs of life. */
export function tell(block: string, live: Live): void {
  let event = 'message';
  const data: string[] = [];
  for (const line of block.split(/\r?\n/)) {
    if (line.startsWith('event:')) event = line.slice(6).trim();
    if (line.startsWith('data:')) data.push(line.slice(5).replace(/^ /, ''));
  }
  if (data.length > 0) live(event, JSON.parse(data.join('\n')));
}
