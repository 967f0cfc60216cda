// Tests of the whole program in a real browser: `npm run test:browser`.
//
// LOOPWRIGHT_PROGRAM names the program (../target/debug/loopwright if absent); CHROMIUM names the browser
// (/usr/bin/chromium if absent). The front end must have been built.

import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['browser/**/*.test.ts'],
    fileParallelism: false,
    testTimeout: 120_000,
    hookTimeout: 60_000,
  },
});
