// Keys that mean something on a page as a whole.

/** Whether a key is meant for a field or an editor, or is a command of the browser. */
export function typing(event: KeyboardEvent): boolean {
  if (event.ctrlKey || event.metaKey || event.altKey) return true;
  const target = event.target as HTMLElement;
  return target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName);
}

/** Undo or redo, where the key asks for one of them outside of fields. */
export function historyKey(event: KeyboardEvent): 'undo' | 'redo' | null {
  const target = event.target as HTMLElement;
  if (target.isContentEditable || /^(INPUT|TEXTAREA)$/.test(target.tagName)) return null;
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return null;
  const key = event.key.toLowerCase();
  if (key === 'z') return event.shiftKey ? 'redo' : 'undo';
  return key === 'y' ? 'redo' : null;
}
