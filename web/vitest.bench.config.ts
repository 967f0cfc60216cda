// Measurements in a real browser: `npm run bench`. They report and judge nothing. Settings as for the browser tests;
// name a release build in LOOPWRIGHT_PROGRAM.

import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: { include: ['bench/**/*.bench.ts'], fileParallelism: false, testTimeout: 600_000, reporters: ['default'] },
});
