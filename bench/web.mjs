// How long a tap takes until what it asked for is painted, in the real program: Chromium, the server with its embedded
// pages, the demo room and a room of 2,000 lots. Five times each, the median. Not a test: CI does not time things.
//
// usage: bench/run-web [LOTS BINS]
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { VIEWS, cookieOf, launch, newContext, program, startServer } from '../tests/browser/support.mjs';
import { bigRoom } from './big-room.mjs';

const TIMES = 5;
const [LOTS = 2000, BINS = 200] = process.argv.slice(2).map(Number);

const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const ms = (list) => `${Math.round(median(list))}`;

/** From the tap on the element to the frame in which `until` is there (a selector, and a text in it), in ms. */
function tap(page, locator, until) {
  return locator.evaluate((element, { selector, text, isChanged }) => new Promise((resolve) => {
    const before = document.querySelector(selector)?.textContent ?? '';
    const isThere = () => {
      const now = [...document.querySelectorAll(selector)].map((one) => one.textContent ?? '');
      return isChanged ? now[0] !== undefined && now[0] !== before : now.some((one) => one.includes(text ?? ''));
    };
    const started = performance.now();
    const look = () => {
      if (!isThere()) return requestAnimationFrame(look);
      // What the next frame shows is painted when the task after it begins.
      requestAnimationFrame(() => setTimeout(() => resolve(performance.now() - started)));
    };
    if (element.matches('input[type=range]')) {
      element.value = String(Number(element.value) + (element.value >= 27 ? -9 : 1));
      element.dispatchEvent(new Event('input', { bubbles: true }));
    } else if (element.matches('input')) {
      element.value = element.value ? '' : 'fern';
      element.dispatchEvent(new Event('input', { bubbles: true }));
    } else {
      element.click();
    }
    look();
  }), until);
}

/** From asking for an address to its first content painted, and until all that it awaits is there. */
async function firstPaint(page, path) {
  const started = performance.now();
  await page.goto(path, { waitUntil: 'commit' });
  await page.waitForFunction(() => document.querySelectorAll('main li, main section, main figure').length > 0, null, { timeout: 60_000 });
  return performance.now() - started;
}

async function measured(page) {
  const json = async (path) => page.evaluate(async (to) => (await fetch(to)).json(), path);
  const { lots } = await json('/api/v1/lots?plain=true');
  const { places } = await json('/api/v1/places?plain=true');
  const lot = lots.find((one) => one.phase === 'quarantine');
  const bin = places.find((one) => one.id === lot.place.id);
  const rows = [];
  const row = async (what, prepare, act) => {
    const list = [];
    for (let k = 0; k < TIMES; k++) {
      await prepare(k);
      list.push(await act());
    }
    rows.push([what, ms(list)]);
  };
  const settled = () => page.waitForFunction(() => !document.querySelector('main [role="status"].quiet'), null, { timeout: 180_000 });
  const to = async (path) => {
    await page.goto(path);
    await page.locator('main h1').waitFor();
  };
  const bar = (name) => page.locator('nav.pages').getByRole('link', { name, exact: true });
  await to('/'); // everything is loaded once, and the chances of the room are made once
  await settled();
  await page.waitForTimeout(3_000);
  for (const [name, heading] of [['Lots', 'Lots'], ['Places', 'Places'], ['Record', 'What happened?']]) {
    await row(`the bar: ${name}, its heading`, () => to('/pages'), () => tap(page, bar(name), { selector: 'main h1', isChanged: true, text: heading }));
  }
  await row('the bar: Lots, its lines', async () => to('/pages'), () => tap(page, bar('Lots'), { selector: 'form.find ~ section .line' }));
  await row('the bar: Places, its boxes', async () => to('/pages'), () => tap(page, bar('Places'), { selector: 'main .box' }));
  await row('find by a word among all lots', async () => { await to('/lots'); await page.locator('.line').first().waitFor(); }, () => tap(page, page.locator('#find'), { selector: '.find [role=status]', isChanged: true }));
  await row('a lot, its heading', async () => to('/pages').then(() => page.evaluate((path) => { const a = document.createElement('a'); a.href = path; a.id = 'go'; a.textContent = 'go'; document.querySelector('main').append(a); }, `/lots/${lot.code}`)), () => tap(page, page.locator('#go'), { selector: 'main h1', isChanged: true }));
  await to(`/lots/${lot.code}`);
  await settled();
  await row('a lot, whole (seen before)', async () => to('/pages').then(() => page.evaluate((path) => { const a = document.createElement('a'); a.href = path; a.id = 'go'; a.textContent = 'go'; document.querySelector('main').append(a); }, `/lots/${lot.code}`)), () => tap(page, page.locator('#go'), { selector: '#chances' }));
  await to(`/lots/${lot.code}`);
  await settled();
  await row('why, and where to look: unfolded', async () => page.evaluate(() => { for (const one of document.querySelectorAll('details')) one.open = false; }), () => tap(page, page.locator('.chances summary').first(), { selector: '.chances details[open] dt' }));
  await to(`/lots/${lot.code}/looks`);
  await settled();
  await row('a slider: its number', () => page.waitForTimeout(600), () => tap(page, page.locator('input[type=range]').first(), { selector: '.slider b', isChanged: true }));
  const answers = [];
  for (let k = 0; k < TIMES; k++) {
    const at = performance.now();
    const answered = page.waitForResponse((response) => response.url().includes('/looks/date'), { timeout: 60_000 });
    await page.locator('input[type=range]').first().press(k % 2 ? 'ArrowLeft' : 'ArrowRight');
    await answered;
    answers.push(performance.now() - at);
  }
  rows.push(['a slider: the date it gives', ms(answers)]);
  await row('a look that found nothing: kept, with undo', async () => { await to(`/places/${bin.code}`); await page.getByRole('button', { name: 'Nothing found' }).first().waitFor(); }, () => tap(page, page.getByRole('button', { name: 'Nothing found' }).first(), { selector: '.recorded' }));
  for (const path of ['/', '/lots', '/places', '/collection', '/sources', '/climate', '/paper', '/history']) {
    const list = [];
    for (let k = 0; k < TIMES; k++) list.push(await firstPaint(page, path));
    rows.push([`opened anew: ${path}`, ms(list)]);
  }
  return rows;
}

async function room(name, make) {
  const folder = mkdtempSync(join(tmpdir(), 'fernlock-bench-'));
  const at = join(folder, 'room');
  try {
    make(at);
    const server = await startServer(at);
    const cookie = await cookieOf(server);
    const browser = await launch();
    try {
      const { context, errors } = await newContext(browser, VIEWS.laptop, server.base, cookie);
      context.setDefaultTimeout(120_000);
      const page = await context.newPage();
      await page.goto('/');
      const rows = await measured(page);
      if (errors.length > 0) throw new Error(errors.join('; '));
      return { name, rows };
    } finally {
      await browser.close();
      await server.stop();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const run = (at, args, input) => execFileSync(program(), ['--room', at, ...args], { input, timeout: 300_000, stdio: ['pipe', 'ignore', 'inherit'] });
const demo = await room('demo', (at) => run(at, ['demo']));
const large = await room('large', (at) => {
  run(at, ['init', '--name', 'The large room', '--tz', '+00:00']);
  run(at, ['record', '-', '--together'], bigRoom({ lots: LOTS, bins: BINS }).map((event) => `${JSON.stringify(event)}\n`).join(''));
});
console.log(`| what was tapped, ms (median of ${TIMES}) | demo room | ${LOTS} lots, ${BINS} bins |`);
console.log('|---|---|---|');
demo.rows.forEach(([what, value], k) => console.log(`| ${what} | ${value} | ${large.rows[k]?.[1] ?? ''} |`));
const slow = [...demo.rows, ...large.rows].filter(([what, value]) => Number(value) > 100 && !what.startsWith('opened') && !what.includes('the date'));
console.log(slow.length === 0 ? 'every tap is painted within 100 ms' : `over 100 ms: ${slow.map(([what]) => what).join('; ')}`);
