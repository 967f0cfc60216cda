// What is told when something asked of the program failed.

import { words } from '../words';
import { Refused, Unreachable } from './client';

/** The program's own words, or that it cannot be reached; anything else is a fault of ours and goes on. */
export function said(error: unknown): string {
  if (error instanceof Refused) return `${error.message} ${error.help}`.trim();
  if (error instanceof Unreachable) return words.status.lost;
  throw error;
}
