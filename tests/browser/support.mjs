// What browser tests share: the built program, a room made from room.jsonl, a server on a free port, a
// browser, axe. Every wait is bounded, and what was started is ended by its own process id.
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before } from 'node:test';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../../', import.meta.url));
export const requireFromWeb = createRequire(new URL('../../web/package.json', import.meta.url));
const { chromium } = requireFromWeb('playwright-core');

const DAY_MS = 86_400_000;
const START_MS = 30_000;
const ANCHOR = '2026-03-07'; // the day on which room.jsonl is looked at: a Saturday, its round day
const WEEKDAYS = ['sunday', 'monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday'];

/** The program: $FERNLOCK, or the first build that is there. */
export function program() {
  const builds = ['ci-gcc', 'dev', 'asan'].map((name) => join(root, 'build', name, 'fernlock'));
  const found = [process.env.FERNLOCK, ...builds].find((path) => path && existsSync(path));
  assert.ok(found, 'build the program first (scripts/build dev fernlock), or set FERNLOCK');
  return found;
}

/** Runs the program to its end; its standard output. */
export function run(room, ...args) {
  return execFileSync(program(), ['--room', room, ...args], { encoding: 'utf8', timeout: 60_000 });
}

/** room.jsonl moved by whole days, so that its last day is today. Vague dates stay. */
export function shiftedEvents() {
  const today = new Date().toISOString().slice(0, 10);
  const days = Math.round((Date.parse(today) - Date.parse(ANCHOR)) / DAY_MS);
  const text = readFileSync(new URL('room.jsonl', import.meta.url), 'utf8');
  return text
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line))
    .filter((event) => event.kind !== 'room_set') // init says that
    .map((event) => {
      if (event.occurred_at.length < 20) return event;
      const moved = new Date(Date.parse(event.occurred_at) + days * DAY_MS);
      return { ...event, occurred_at: `${moved.toISOString().slice(0, 19)}Z` };
    });
}

/** A new room in a temporary folder; `remove` takes it away. */
export function makeRoom({ isEmpty = false } = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'fernlock-web-'));
  const room = join(folder, 'room');
  const round = WEEKDAYS[new Date().getUTCDay()];
  run(room, 'init', '--name', 'The test room', '--tz', '+00:00', '--round', round);
  if (!isEmpty) {
    const lines = shiftedEvents().map((event) => JSON.stringify(event)).join('\n');
    execFileSync(program(), ['--room', room, 'record', '-'], { input: `${lines}\n`, timeout: 60_000 });
  }
  return { room, remove: () => rmSync(folder, { recursive: true, force: true }) };
}

/** A server on a free port of this computer: { base, signIn, stop, pid, said } (said(): all that it printed). */
export async function startServer(room, ...args) {
  const child = spawn(program(), ['--room', room, 'serve', '--port', '0', ...args], {
    stdio: ['pipe', 'pipe', 'pipe'],
  });
  let said = '';
  const address = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the server said no address: ${said}`)), START_MS);
    const hear = (bytes) => {
      said += bytes;
      const found = /http:\/\/127\.0\.0\.1:\d+\/#k=[^\s]+/.exec(said);
      if (found) {
        clearTimeout(late);
        resolve(found[0]);
      }
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.on('exit', (code) => {
      clearTimeout(late);
      reject(new Error(`the server ended with ${code}: ${said}`));
    });
  });
  const stop = () =>
    new Promise((resolve) => {
      if (child.exitCode !== null) return resolve();
      const kill = setTimeout(() => child.kill('SIGKILL'), 5_000);
      child.on('exit', () => {
        clearTimeout(kill);
        resolve();
      });
      child.kill('SIGTERM');
    });
  return { base: new URL(address).origin, signIn: address, stop, pid: child.pid, said: () => said };
}

/** Before all tests of a file: a room, a server, its cookie, a browser if asked for; after them all is put away.
 *  `take` gets { made, server, cookie, browser, ask, json }; `isEmpty`: no record in the room; `prepare`: what is
 *  done to the room before it is served; `serve`: more words for that command. */
export function stage(take, { isEmpty = false, browser: hasBrowser = false, flags = [], prepare, serve = [] } = {}) {
  const at = {};
  before(async () => {
    at.made = makeRoom({ isEmpty });
    prepare?.(at.made.room);
    at.server = await startServer(at.made.room, ...serve);
    at.cookie = await cookieOf(at.server);
    if (hasBrowser) at.browser = await launch(...flags);
    at.ask = (path, init = {}) => {
      const headers = { Cookie: at.cookie, Origin: at.server.base, ...init.headers };
      return fetch(at.server.base + path, { redirect: 'manual', ...init, headers, signal: AbortSignal.timeout(60_000) });
    };
    at.json = async (path, init) => (await at.ask(path, init)).json();
    await take(at);
  });
  after(async () => {
    await at.browser?.close();
    await at.server?.stop();
    at.made?.remove();
  });
}

/** Spends the sign-in address for requests without a browser; the cookie to send. */
export async function cookieOf(server) {
  const response = await fetch(`${server.base}/api/v1/session`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', Origin: server.base },
    body: JSON.stringify({ key: new URL(server.signIn).hash.slice(3) }),
    signal: AbortSignal.timeout(10_000),
  });
  assert.equal(response.status, 201, await response.text());
  return response.headers.get('set-cookie').split(';')[0];
}

/** The browser that is installed. */
export async function launch(...args) {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
      '--disable-component-update', '--disable-sync', ...args,
    ],
    timeout: START_MS,
  });
  await tapAsPeopleDo(browser);
  return browser;
}

const AGAIN_MS = 450; // the pages take a second tap within 400 ms for a tremble (web/src/record/use.ts)

/** Makes every click() of this process wait until the last one is AGAIN_MS old, however quick the machine is. */
async function tapAsPeopleDo(browser) {
  const page = await browser.newPage();
  const locators = Object.getPrototypeOf(page.locator('html'));
  await page.close();
  if (locators.isSpaced) return;
  locators.isSpaced = true;
  for (const name of ['click', 'tap']) {
    const act = locators[name];
    let endedMs = -AGAIN_MS;
    locators[name] = async function spaced(...given) {
      const waitMs = endedMs + AGAIN_MS - performance.now();
      if (waitMs > 0) await new Promise((resolve) => setTimeout(resolve, waitMs));
      try {
        return await act.apply(this, given);
      } finally {
        endedMs = performance.now();
      }
    };
  }
}

export const VIEWS = {
  laptop: { viewport: { width: 1280, height: 800 } },
  phone: { viewport: { width: 390, height: 844 }, hasTouch: true, colorScheme: 'dark', reducedMotion: 'reduce' },
  narrow: { viewport: { width: 320, height: 640 } },
  forced: { viewport: { width: 1280, height: 800 }, forcedColors: 'active' },
};

const axeSource = readFileSync(requireFromWeb.resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** A context that notes every error of the console and every failed script; signed in with the cookie. */
export async function newContext(browser, view, base, cookie) {
  const context = await browser.newContext({ locale: 'en-GB', timezoneId: 'UTC', ...view, baseURL: base });
  await context.addInitScript({ content: axeSource });
  await context.addInitScript(watch);
  context.setDefaultTimeout(20_000);
  if (cookie) {
    const [name, value] = cookie.split(/=(.*)/s);
    await context.addCookies([{ name, value, url: base, httpOnly: true, sameSite: 'Strict' }]);
  }
  const errors = [];
  context.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') errors.push(message.text());
  });
  context.on('weberror', (error) => errors.push(String(error.error())));
  return { context, errors };
}

/** In the page: counts requests whose answer has not come whole, and notes when something last changed. */
function watch() {
  const watched = { asked: 0, changedMs: performance.now() };
  Object.defineProperty(window, 'watched', { value: watched });
  const ask = window.fetch.bind(window);
  window.fetch = async (...given) => {
    watched.asked += 1;
    const over = () => { watched.asked -= 1; };
    try {
      const response = await ask(...given);
      response.clone().arrayBuffer().then(over, over);
      return response;
    } catch (error) {
      over();
      throw error;
    }
  };
  new MutationObserver(() => { watched.changedMs = performance.now(); })
    .observe(document, { subtree: true, childList: true, attributes: true, characterData: true });
}

/** What axe finds on the page: violations, and what it could not decide. */
export async function axe(page) {
  const { violations, incomplete } = await page.evaluate(
    (tags) => axe.run(document, { runOnly: { type: 'tag', values: tags } }),
    TAGS,
  );
  const brief = (list) => list.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.target.join(' ')).join(', ')}`);
  return { violations: brief(violations), incomplete: brief(incomplete) };
}

/** Goes to a screen and waits until its data is shown. */
export async function open(page, path) {
  await page.goto(path);
  await shown(page);
}

const STILL_MS = 35; // two frames: a fold that was just opened has asked for what is in it

/** Waits until no part of the page is awaited any more: every request is answered, and the page is still. */
export async function shown(page) {
  await page.locator('main h1').waitFor();
  await page.waitForFunction(
    (stillMs) => {
      const { asked, changedMs } = window.watched;
      return asked === 0 && performance.now() - changedMs > stillMs && !document.querySelector('main [role="status"].quiet');
    },
    STILL_MS,
  );
}
