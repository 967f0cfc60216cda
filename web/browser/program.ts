// Starts the program on a shelf of its own, and a browser on it.

import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import {
  type Browser,
  type BrowserContext,
  type BrowserContextOptions,
  chromium,
  type Page,
} from 'playwright-core';

const PROGRAM = resolve(process.env.LOOPWRIGHT_PROGRAM ?? '../target/debug/loopwright');
const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium';

const FLAGS = [
  '--no-sandbox',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];
/** The cloth is drawn by a graphics card, and where there is none, by the processor in its stead. */
const CARD = ['--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'];

export class Program {
  readonly shelf = mkdtempSync(join(tmpdir(), 'loopwright-shelf-'));
  address = '';
  #process: ChildProcess | undefined;
  #port: string | undefined;

  /** Starts the program; the second time on the same port. */
  async start(...args: string[]): Promise<void> {
    if (!existsSync(PROGRAM))
      throw new Error(`${PROGRAM} is not there: build the program, or set LOOPWRIGHT_PROGRAM`);
    const port = this.#port ? ['--port', this.#port] : [];
    const started = spawn(PROGRAM, ['open', '--no-browser', '--shelf', this.shelf, ...port, ...args]);
    this.#process = started;
    this.address = await firstAddress(started);
    this.#port = new URL(this.address).port;
  }

  /** Ends it at once, as a power cut would. */
  async kill(): Promise<void> {
    const ending = this.#process;
    if (!ending || ending.exitCode !== null || ending.signalCode !== null) return;
    const ended = new Promise((resolve) => ending.once('exit', resolve));
    ending.kill('SIGKILL');
    await ended;
  }

  async clear(): Promise<void> {
    await this.kill();
    rmSync(this.shelf, { recursive: true, force: true });
  }
}

function firstAddress(started: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let said = '';
    const hear = (chunk: Buffer): void => {
      said += chunk.toString();
      const address = /http:\/\/127\.0\.0\.1:\d+\/\S*/.exec(said)?.[0];
      if (address) resolve(address);
    };
    started.stdout?.on('data', hear);
    started.stderr?.on('data', hear);
    started.once('exit', (code) => reject(new Error(`the program ended with ${code}: ${said}`)));
  });
}

export function browser(): Promise<Browser> {
  return chromium.launch({ executablePath: CHROMIUM, args: [...FLAGS, ...CARD] });
}

/** A browser that composes its pages without a graphics card, so that none has to be imitated. */
export function browserWithoutCard(): Promise<Browser> {
  return chromium.launch({ executablePath: CHROMIUM, args: [...FLAGS, '--disable-gpu'] });
}

/** A window on the program that notes everything which should not happen. */
export interface Window {
  context: BrowserContext;
  page: Page;
  /** Errors of the page: exceptions, refused resources, breaches of the content security policy. */
  troubles: string[];
}

export async function openWindow(
  browser: Browser,
  program: Program,
  options: BrowserContextOptions = {},
): Promise<Window> {
  const context = await browser.newContext({
    viewport: { width: 1440, height: 900 },
    reducedMotion: 'reduce',
    acceptDownloads: true,
    ...options,
  });
  const page = await context.newPage();
  const troubles: string[] = [];
  page.on('pageerror', (error) => troubles.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(message.text());
  });
  await page.goto(program.address);
  return { context, page, troubles };
}

/** Goes to a place within the app. */
export async function visit(page: Page, hash: string): Promise<void> {
  await page.evaluate((to) => void (location.hash = to), hash);
}

/** The id of the project that is open. */
export function projectId(page: Page): string {
  return /#\/([^/]+)\//.exec(page.url())?.[1] ?? '';
}
