// Writes down whose libraries are in the built front end, each with its licence, as `licences.txt` beside it.
//
// The list is made of what the build has really taken in, so that nothing is missing from it and nothing is in it that
// was only a tool.

import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { Plugin } from 'vite';

/** What stands before the name of a package in the path of a module. */
const PACKAGES = '/node_modules/';

export function licences(): Plugin {
  return {
    name: 'licences',
    apply: 'build',
    generateBundle(_, bundle) {
      const modules = Object.values(bundle).flatMap((file) => (file.type === 'chunk' ? file.moduleIds : []));
      const folders = new Set(modules.filter((id) => id.includes(PACKAGES)).map(packageOf));
      const entries = [...folders].sort().map(entry);
      this.emitFile({
        type: 'asset',
        fileName: 'licences.txt',
        source: entries.join(`\n\n${'-'.repeat(72)}\n\n`),
      });
    },
  };
}

/** The folder of the package that a module belongs to. */
function packageOf(id: string): string {
  const path = id.replace(/^\0/, '').replace(/\?.*$/, '');
  const end = path.lastIndexOf(PACKAGES) + PACKAGES.length;
  const name = path.slice(end).split('/');
  return path.slice(0, end) + name.slice(0, name[0]?.startsWith('@') ? 2 : 1).join('/');
}

/** What is said of one package; a package that does not tell its licence stops the build. */
function entry(folder: string): string {
  const told = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
  const file = readdirSync(folder).find((name) => /^licen[cs]e(\.|$)/i.test(name));
  if (!file || !told.license) throw new Error(`${told.name} in ${dirname(folder)} tells no licence`);
  const text = readFileSync(join(folder, file), 'utf8').trim();
  return `${told.name} ${told.version}\n${told.license}\n\n${text}\n`;
}
