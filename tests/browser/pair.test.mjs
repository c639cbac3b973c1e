// A phone beside the sink, in a real browser at a name without TLS, as a phone has it (no service worker, no
// Sec-Fetch-Site): the code on the computer's screen is read by zbar, an independent reader; both screens show the
// same digits; the keeper allows it; what the phone records without a network arrives once; it takes back its own; it is
// sent away at once. What must hold: docs/models/server.md, "Letting a phone in" and "What a device may do".
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { VIEWS, newContext, open, shown, stage } from './support.mjs';

const LAN = '127.0.0.2';
let made;
let server;
let browser;
let cookie;
let ask;
let json;
let port;
let lanBase; // where the phone is: a name, so that the browser takes it for no secure origin

stage((at) => {
  ({ made, server, browser, cookie, ask, json } = at);
  port = new URL(server.base).port;
  lanBase = `http://bench.lan:${port}`;
}, { browser: true, flags: ['--host-resolver-rules=MAP *.lan 127.0.0.1'], serve: ['--lan', LAN, '--host-name', 'bench.lan'] });

const digitsOf = async (page) => (await page.locator('.digits').innerText()).replace(/\D/g, '');
const post = (path, body = {}) => ask(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });

async function laptop(path) {
  const { context, errors } = await newContext(browser, VIEWS.laptop, server.base, cookie);
  const page = await context.newPage();
  await open(page, path);
  return { context, page, errors };
}

async function phone() {
  const { context } = await newContext(browser, VIEWS.phone, lanBase);
  return { context, page: await context.newPage() };
}

/** A phone that was let in, by the API on the keeper's side. */
async function paired(name) {
  const { context, page } = await phone();
  const offer = await (await post('/api/v1/pairing')).json();
  await page.goto(offer.url.replace(LAN, 'bench.lan'));
  await page.getByLabel('What is this phone to be called?').fill(name);
  await page.getByRole('button', { name: 'Ask to be let in' }).click();
  await page.locator('.digits').waitFor();
  assert.equal(await digitsOf(page), offer.code);
  assert.equal((await post('/api/v1/pairing/allow')).status, 200);
  await page.getByRole('heading', { name: 'This phone is in' }).waitFor();
  return { context, page };
}

const revoke = async (name) => {
  const { devices } = await json('/api/v1/devices');
  const found = devices.find((one) => one.name === name);
  const answer = await ask(`/api/v1/devices/${found.id}`, { method: 'DELETE', headers: { 'Content-Type': 'application/json' } });
  assert.equal(answer.status, 204);
};

test('a code is shown, read, compared and allowed', async () => {
  const desk = await laptop('/phone');
  await desk.page.getByRole('button', { name: 'Show the code' }).click();
  const qr = desk.page.locator('.qr');
  await qr.waitFor();
  const picture = join(made.room, '..', 'qr.png');
  writeFileSync(picture, await qr.screenshot());
  const read = execFileSync('zbarimg', ['-q', '--raw', '--nodbus', picture], { encoding: 'utf8', timeout: 20_000 }).trim();
  assert.match(read, new RegExp(`^http://${LAN.replaceAll('.', '\\.')}:${port}/p#[0-9a-f]{32}$`)); // 128 bits
  const digits = await digitsOf(desk.page);

  const { context, page } = await phone();
  await page.goto(read.replace(LAN, 'bench.lan'));
  assert.equal(await page.evaluate(() => window.isSecureContext), false);
  await page.getByLabel('What is this phone to be called?').fill('Sink phone');
  assert.equal(new URL(page.url()).hash, ''); // the key is out of the address
  await page.getByRole('button', { name: 'Ask to be let in' }).click();
  await page.getByRole('heading', { name: 'Look at the computer' }).waitFor();
  assert.equal(await digitsOf(page), digits);

  await desk.page.getByRole('heading', { name: 'Sink phone asks to be let in' }).waitFor();
  assert.equal(await digitsOf(desk.page), digits);
  const stranger = await phone(); // the code is spent, whoever has it
  await stranger.page.goto(read.replace(LAN, 'bench.lan'));
  await stranger.page.getByRole('button', { name: 'Ask to be let in' }).click();
  await stranger.page.getByText('This code no longer works').waitFor();
  await stranger.context.close();

  await desk.page.getByRole('button', { name: 'Allow' }).click();
  await page.getByRole('heading', { name: 'This phone is in' }).waitFor();
  await desk.page.getByText('Sink phone is in.').waitFor();
  await page.getByRole('link', { name: 'To the sink' }).click();
  await shown(page);
  assert.deepEqual((await context.cookies()).map((one) => [one.httpOnly, one.sameSite, one.secure]), [[true, 'Strict', false]]);
  assert.deepEqual(desk.errors, []);
  const secrets = [read.split('#')[1], digits, cookie.split('=')[1], (await context.cookies())[0].value];
  for (const secret of secrets) assert.ok(!server.said().includes(secret)); // nothing of it is logged
  await context.close();
  await desk.context.close();
  await revoke('Sink phone');
});

test('what is recorded without a network arrives once, and is taken back where it was made', async () => {
  const { context, page } = await paired('Bench phone');
  const { places } = await json('/api/v1/places');
  const bin = places.find((place) => place.name === 'Bin 3');
  const looks = async () => (await json(`/api/v1/places/${bin.id}`)).looks.length;
  const n = await looks();
  const posts = [];
  page.on('request', (request) => {
    if (request.method() === 'POST' && request.url().endsWith('/api/v1/events')) posts.push(request.postDataJSON());
  });
  await open(page, `/places/${bin.code}`);
  await page.getByRole('radio', { name: 'A glance' }).check();
  await context.setOffline(true);
  await page.getByRole('button', { name: 'Nothing found' }).click();
  await page.getByText('1 record is not yet sent.').waitFor();
  assert.equal(await looks(), n);
  await context.route('**/api/v1/events', (route) => route.abort());
  await context.setOffline(false); // back, but the server is not reached yet; and the page is loaded anew
  await open(page, `/places/${bin.code}`);
  await page.getByText('1 record is not yet sent.').waitFor();
  await context.unroute('**/api/v1/events');
  await page.evaluate(() => window.dispatchEvent(new Event('online')));
  await page.waitForFunction(() => !document.querySelector('.unsent-mark'));
  assert.equal(await looks(), n + 1);
  assert.equal(new Set(posts.map(({ id }) => id)).size, 1);
  assert.match(posts[0].device, /^Bench phone [0-9a-f]{6}$/);

  await open(page, '/history'); // its own has Undo, what others told has none
  const first = page.locator('.record li').first();
  await first.getByText(posts[0].device).waitFor();
  assert.equal(await page.getByRole('button', { name: /^Undo/ }).count(), 1);
  await first.getByRole('button', { name: /^Undo/ }).click();
  await first.getByText('Record it again').waitFor();
  assert.equal(await looks(), n);
  for (const path of ['/moving-in', '/phone']) {
    await page.goto(path);
    await page.getByText('This is done at the computer where fernlock runs.').waitFor();
  }
  await open(page, '/settings');
  assert.equal(await page.locator('main form').count(), 0);
  await context.close();
  await revoke('Bench phone');
});

test('sent away at once; back by typed digits, and on where it was', async () => {
  const { context, page } = await paired('Lost phone');
  const { lots } = await json('/api/v1/lots');
  await open(page, '/');
  const desk = await laptop('/devices');
  const line = desk.page.locator('.device', { hasText: 'Lost phone' });
  await line.locator('summary').click();
  await line.getByRole('button', { name: 'Send away' }).click();
  await desk.page.getByText('Lost phone is signed out.').waitFor();
  await line.waitFor({ state: 'detached' });
  await desk.context.close();

  await page.goto(`/lots/${lots[0].code}`);
  await page.getByRole('heading', { name: 'Sign in' }).waitFor();
  const offer = await (await post('/api/v1/pairing')).json();
  await page.getByRole('link', { name: 'Type the six digits' }).click();
  await page.getByLabel('Six digits from the computer').fill('12 34');
  await page.getByRole('button', { name: 'Ask to be let in' }).click();
  await page.getByText('Type all six digits.').waitFor();
  const wrong = String((Number(offer.code) + 1) % 1_000_000).padStart(6, '0');
  await page.getByLabel('Six digits from the computer').fill(wrong);
  await page.getByRole('button', { name: 'Ask to be let in' }).click();
  await page.getByText('These are not the digits on the computer').waitFor();
  await page.getByLabel('Six digits from the computer').fill(`${offer.code.slice(0, 3)} ${offer.code.slice(3)}`);
  await page.getByRole('button', { name: 'Ask to be let in' }).click();
  await page.locator('.digits').waitFor();
  assert.equal((await json('/api/v1/pairing')).is_typed, true);
  await post('/api/v1/pairing/allow');
  await page.getByRole('link', { name: 'Go on where you were' }).click();
  await page.waitForURL(`**/lots/${lots[0].code}`);
  await shown(page);
  await context.close();
});

test('a label that a stranger scans leads to its lot after signing in', async () => {
  const { lots } = await json('/api/v1/lots');
  const path = `/l/${lots[0].code}`;
  const at = async (base, to) => (await fetch(base + to, { redirect: 'manual', signal: AbortSignal.timeout(10_000) })).headers.get('location');
  assert.equal(await at(server.base, path), `/?to=${path}`);
  assert.equal(await at(server.base, '/l/%3Cb%3E'), '/'); // nothing that is no code is carried along
  const byName = await browser.newContext();
  const page = await byName.newPage();
  await page.goto(`${lanBase}${path}`); // a label says a name; a phone's session is at the number
  assert.equal(page.url(), `http://${LAN}:${port}/`);
  await page.getByRole('heading', { name: 'Sign in' }).waitFor();
  const offer = await (await post('/api/v1/pairing')).json();
  await page.goto(offer.url);
  await page.getByRole('button', { name: 'Ask to be let in' }).click();
  await page.locator('.digits').waitFor();
  await post('/api/v1/pairing/allow');
  await page.getByRole('link', { name: 'Go on where you were' }).click();
  await page.waitForURL(`**/lots/${lots[0].id}`);
  await page.goto(`${lanBase}${path}`); // and straight on from then on
  await page.waitForURL(`http://${LAN}:${port}/lots/${lots[0].id}`);
  for (const evil of ['//evil.lan/', 'http://evil.lan/', '/api/v1/session', 'javascript:alert(1)']) {
    await page.goto(`http://${LAN}:${port}/?to=${encodeURIComponent(evil)}`);
    await page.getByRole('heading', { level: 1, name: 'Today' }).waitFor();
    assert.equal(page.url(), `http://${LAN}:${port}/`);
  }
  await byName.close();
});

test('settings are set, undone, and refused with a reason', async () => {
  const { context, page, errors } = await laptop('/settings');
  const round = await page.getByLabel('Day of the round').inputValue();
  await page.getByLabel('Day of the round').selectOption('Thursday');
  await page.getByRole('button', { name: 'Keep' }).first().click();
  await page.getByText('Settings of the room changed.').waitFor();
  await page.waitForFunction(() => !document.querySelector('.unsent-mark'));
  assert.equal((await json('/api/v1/settings')).round_weekday, 3);
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText('Undone: Settings of the room changed.').waitFor();
  await page.waitForFunction(() => !document.querySelector('.unsent-mark'));
  // the page has asked anew: what is typed from here on stays
  await page.locator(`select:has(option[value="${round}"]:checked):has(option:text-is("Thursday"))`).waitFor();
  const { today_on: today, round_effort: effort } = await json('/api/v1/settings');
  const later = new Date(Date.parse(today) + 9 * 86_400_000).toISOString().slice(0, 10);
  await page.getByLabel('Back on').fill(today);
  await page.getByRole('button', { name: 'I am away then' }).click();
  await page.getByText('Give a day after the first.').waitFor();
  await page.getByLabel('Back on').fill(later);
  await page.getByRole('button', { name: 'I am away then' }).click();
  await page.getByText(/^Away now, until/).waitFor();
  assert.equal((await json('/api/v1/settings')).round_effort, effort); // nothing else changed
  await page.getByRole('button', { name: 'I am back, or staying' }).click();
  await page.getByText('Nothing is planned.').waitFor();
  await page.getByLabel('Time zone').fill('Europe/Atlantis');
  await page.getByRole('button', { name: 'Keep' }).nth(1).click();
  await page.locator('.problem', { hasText: 'Atlantis' }).waitFor();
  errors.length = 0; // the refusal itself
  await page.getByLabel('Time zone').fill('Europe/Vienna');
  await page.getByLabel('Time of a round').fill('19:30');
  await page.getByRole('button', { name: 'Keep' }).nth(1).click();
  await page.getByText('Kept.').waitFor();
  const kept = await json('/api/v1/settings');
  assert.deepEqual([kept.zone, kept.round_time], ['Europe/Vienna', '19:30']);
  assert.deepEqual(errors, []);
  await context.close();
});

test('the network is closed and opened from the browser', async () => {
  const { context, page } = await laptop('/devices');
  const isThere = () => fetch(`http://${LAN}:${port}/`, { signal: AbortSignal.timeout(5_000) }).then(() => true, () => false);
  assert.equal(await isThere(), true);
  await page.getByRole('button', { name: 'Close it to the network' }).click();
  await page.getByText('Only this computer can reach it.').waitFor();
  assert.equal(await isThere(), false);
  assert.equal((await post('/api/v1/lan', { address: LAN })).status, 200);
  assert.equal(await isThere(), true);
  assert.equal((await post('/api/v1/lan', { address: '0.0.0.0' })).status, 400);
  assert.equal((await post('/api/v1/lan', { address: '192.0.2.77' })).status, 400);
  await context.close();
});
