// Builds the front end into `dist/`, which the program embeds.
//
// `npm run dev` serves it with changes at once; API requests go on to a running program, named by LOOPWRIGHT
// (such as http://127.0.0.1:8080, started with `loopwright open --no-browser --port 8080`).

import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';
import { licences } from './licences';

const program = process.env.LOOPWRIGHT ?? 'http://127.0.0.1:8080';

/** Licences come without an ending; with one, a browser shows them. */
function nameOf(asset: { names: string[] }): string {
  return asset.names.some((name) => name.endsWith('LICENSE'))
    ? 'assets/[name]-[hash].txt'
    : 'assets/[name]-[hash][extname]';
}

export default defineConfig({
  plugins: [svelte(), licences()],
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    chunkSizeWarningLimit: 800,
    emptyOutDir: true,
    rolldownOptions: { output: { assetFileNames: nameOf } },
  },
  server: {
    host: '127.0.0.1',
    // The moves at the needles are shared with the page for the phone, which is made by another crate.
    fs: { allow: ['..'] },
    proxy: { '/api': { target: program, changeOrigin: true, headers: { origin: program } } },
  },
});
