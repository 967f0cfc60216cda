// Light or dark paper: as the system has it, or as the reader chose.

const KEPT = 'loopwright-paper';

export type Paper = 'system' | 'light' | 'dark';
export const PAPERS: readonly Paper[] = ['system', 'light', 'dark'];

let paper = $state<Paper>('system');

export function currentPaper(): Paper {
  return paper;
}

export function choosePaper(chosen: Paper): void {
  paper = chosen;
  localStorage.setItem(KEPT, chosen);
  if (chosen === 'system') delete document.documentElement.dataset.paper;
  else document.documentElement.dataset.paper = chosen;
}

/** Takes up what was chosen the last time. */
export function settlePaper(): void {
  const kept = localStorage.getItem(KEPT);
  choosePaper(PAPERS.find((one) => one === kept) ?? 'system');
}
