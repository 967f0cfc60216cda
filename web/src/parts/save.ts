// Files that are taken away.

/** How long a file is held for the browser to take it, in milliseconds. */
const KEPT = 60_000;

/** Hands a file to the browser, named by the title of the project. */
export function save(blob: Blob, title: string, what: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = `${fileName(title)}-${what}`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), KEPT);
}

/** A title as a file name that every system takes. */
function fileName(title: string): string {
  return (
    title
      .normalize('NFKD')
      .replace(/[^\w]+/g, '-')
      .replace(/^-+|-+$/g, '')
      .toLowerCase()
      .slice(0, 60) || 'pattern'
  );
}
