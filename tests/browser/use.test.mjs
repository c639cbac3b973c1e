// Using the pages: signing in, keyboard, addresses, Back, the find field, an answer that changes, a server that
// goes away; and that words, strips and tables tell the same as the API.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { cookieOf, launch, makeRoom, newContext, open, shown, startServer, VIEWS } from './support.mjs';

let made;
let server;
let browser;
let cookie;

before(async () => {
  made = makeRoom();
  server = await startServer(made.room);
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
  made?.remove();
});

async function newPage(view = VIEWS.laptop) {
  const { context, errors } = await newContext(browser, view, server.base, cookie);
  return { page: await context.newPage(), context, errors };
}

async function json(path, init = {}) {
  const headers = { Cookie: cookie, Origin: server.base, 'Content-Type': 'application/json', ...init.headers };
  const response = await fetch(server.base + path, { ...init, headers, signal: AbortSignal.timeout(30_000) });
  return response.json();
}

// The first test spends the server's one address; the others use its cookie.
test('the address of the server signs in once, and leaves nothing in the address', async () => {
  const { page, context } = await newPage();
  await page.goto(server.signIn);
  await page.getByRole('heading', { level: 1, name: 'Today' }).waitFor();
  await shown(page);
  assert.equal(new URL(page.url()).hash, '');
  const [kept] = await context.cookies();
  assert.ok(kept.httpOnly && kept.sameSite === 'Strict');
  cookie = `${kept.name}=${kept.value}`;
  await page.reload();
  await page.getByText('Bin 2 is on hold').waitFor();
  assert.equal(await page.evaluate(() => document.cookie), '');
  await context.close();

  const other = await newContext(browser, VIEWS.laptop, server.base);
  const late = await other.context.newPage();
  await late.goto(server.signIn);
  await late.getByRole('alert').waitFor();
  await late.getByRole('heading', { level: 1, name: 'Sign in' }).waitFor();
  assert.equal(new URL(late.url()).hash, '');
  await other.context.close();
});

test('without a session every screen says how to sign in', async () => {
  const { context } = await newContext(browser, VIEWS.phone, server.base);
  const page = await context.newPage();
  for (const path of ['/', '/lots', '/places', '/lots/XXXXXX/gate/stock']) {
    await page.goto(path);
    await page.getByRole('heading', { level: 1, name: 'Sign in' }).waitFor();
    await page.getByText('fernlock serve', { exact: false }).waitFor();
  }
  await context.close();
});

test('the keyboard reaches everything, and the focus follows the screen', async () => {
  const { page, context } = await newPage();
  await open(page, '/');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.textContent), 'Skip to the page');
  await page.keyboard.press('Enter');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'page');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.closest('li')?.querySelector('a').textContent), 'Bin 2 is on hold: nothing should leave it');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { level: 1, name: 'Bin 2' }).waitFor();
  await page.waitForFunction(() => document.activeElement?.tagName === 'H1' && document.activeElement.textContent === 'Bin 2');
  assert.match(page.url(), /\/places\/[2-9A-HJKMNP-Z]{6}$/);
  assert.equal(await page.title(), 'Bin 2 · fernlock');
  await page.goBack();
  await page.getByRole('heading', { level: 1, name: 'Today' }).waitFor();
  await page.goForward();
  await page.getByRole('heading', { level: 1, name: 'Bin 2' }).waitFor();
  await context.close();
});

test('the focus is always to be seen, also above the pages of a phone', async () => {
  const { page, context } = await newPage(VIEWS.narrow);
  await open(page, '/lots');
  const bar = await page.locator('nav.pages').boundingBox();
  for (let k = 0; k < 24; k += 1) {
    await page.keyboard.press('Tab');
    const hidden = await page.evaluate((top) => {
      const element = document.activeElement;
      if (!element || element === document.body || element.closest('nav.pages')) return '';
      const box = element.getBoundingClientRect();
      return box.top >= top || box.bottom <= 0 ? element.textContent : ''; // wholly hidden: WCAG 2.4.11
    }, bar.y);
    assert.equal(hidden, '');
  }
  await context.close();
});

test('the find field narrows the list, and Enter opens the only one', async () => {
  const { page, context } = await newPage();
  await open(page, '/lots');
  const links = page.locator('main .line-link');
  const all = await links.count();
  await page.getByRole('searchbox').fill('nerve');
  await page.waitForFunction((n) => document.querySelectorAll('main .line-link').length < n, all);
  assert.deepEqual(await links.allTextContents(), ['Nerve plant', 'Nerve plant']);
  await page.getByRole('searchbox').press('Enter'); // two fit: nothing opens
  assert.match(page.url(), /\/lots$/);
  const { lots } = await json('/api/v1/lots');
  const { code } = lots.find((lot) => lot.name === 'Moon valley');
  await page.getByRole('searchbox').fill(`HTTP://HALL.LOCAL:8080/L/${code}`); // as a scanner types a label
  await page.getByRole('searchbox').press('Enter');
  await page.getByRole('heading', { level: 1, name: 'Moon valley' }).waitFor();
  await page.goto('/lots');
  await shown(page);
  await page.getByRole('searchbox').fill('dragon');
  await page.getByText('No lot fits “dragon”.').waitFor();
  await context.close();
});

test('a chance tells the same in words, on its strip and in the API', async () => {
  const { page, context } = await newPage();
  const { lots } = await json('/api/v1/lots');
  const { code } = lots.find((lot) => lot.phase === 'held');
  const lot = await json(`/api/v1/lots/${code}`);
  await open(page, `/lots/${code}`);
  const first = lot.chances[0];
  const shownFirst = page.locator('.chances > li').first();
  const text = await shownFirst.innerText();
  for (const part of [first.plural, first.chance_text, first.in_100_text, first.band_text ?? '']) assert.ok(text.includes(part), part);
  assert.equal(await shownFirst.getByRole('img').getAttribute('aria-label'), first.text);
  const at = await shownFirst.evaluate((item) => {
    const share = (selector, side) => {
      const box = item.querySelector(selector)?.getBoundingClientRect();
      const rail = item.querySelector('.rail').getBoundingClientRect();
      return (box[side] - rail.left) / rail.width;
    };
    return { here: (share('.here', 'left') + share('.here', 'right')) / 2, from: share('.band', 'left'), to: share('.band', 'right') };
  });
  const across = (prob) => Math.min(Math.max((Math.log10(prob) + 3) / 3, 0), 1);
  assert.ok(Math.abs(at.here - across(first.prob)) < 0.005, `${at.here} ${across(first.prob)}`);
  assert.ok(Math.abs(at.from - across(first.prob_least)) < 0.005);
  assert.ok(Math.abs(at.to - across(first.prob_most)) < 0.005);
  await context.close();
});

test('the gate names every condition, and its chart has a sentence and a table', async () => {
  const { page, context } = await newPage();
  const { lots } = await json('/api/v1/lots');
  const { code } = lots.find((lot) => lot.name === 'Moon valley');
  await open(page, `/lots/${code}`);
  await page.getByRole('link', { name: 'Amphibians' }).click();
  await page.getByRole('heading', { level: 1, name: 'May Moon valley go in with amphibians?' }).waitFor();
  assert.match(page.url(), new RegExp(`/lots/${code}/gate/amphibian$`));
  const gate = await json(`/api/v1/lots/${code}/gate?use=amphibian`);
  const text = await page.locator('main').innerText();
  assert.ok(text.includes(gate.answer_text));
  assert.ok(text.includes(gate.forecast_text));
  for (const condition of gate.conditions) assert.ok(text.includes(condition.text), condition.kind);
  const missing = page.getByRole('region', { name: 'Still missing' });
  assert.equal(await missing.locator('.line').count(), gate.conditions.filter((condition) => !condition.is_met).length);
  await page.getByText('The numbers as a table').click();
  assert.equal(await page.locator('.forecast tbody tr').count(), gate.forecast.length);
  assert.equal(await page.locator('.forecast svg').getAttribute('aria-label'), gate.forecast_text);
  await page.getByRole('navigation', { name: 'Ask for' }).getByRole('link', { name: 'Stock' }).click();
  await page.getByRole('heading', { level: 1, name: 'May Moon valley join stock?' }).waitFor();
  await context.close();
});

test('states differ without colour: each has its own shape and its own words', async () => {
  const { page, context } = await newPage();
  await open(page, '/lots');
  const marks = await page.locator('main section').evaluateAll((sections) =>
    sections.map((section) => [section.querySelector('h2').textContent, section.querySelector('.mark').innerHTML]),
  );
  const shapes = new Map(marks);
  assert.notEqual(shapes.get('On hold'), shapes.get('In quarantine'));
  assert.notEqual(shapes.get('In quarantine'), shapes.get('Established'));
  await open(page, '/places');
  assert.ok(await page.locator('.box.is-held').getByText('on hold').isVisible());
  // The bar differs from the box also in grey: its lightness is far from the paper's.
  const grey = await page.locator('.bar-text').evaluate((bar) => {
    const light = (text) => text.match(/[\d.]+/g).slice(0, 3).reduce((sum, part) => sum + Number(part) / 3, 0);
    return Math.abs(light(getComputedStyle(bar).backgroundColor) - light(getComputedStyle(document.body).backgroundColor));
  });
  assert.ok(grey > 60, `${grey}`);
  await context.close();
});

test('theme and units are chosen here and kept', async () => {
  const { page, context } = await newPage();
  const { places } = await json('/api/v1/places');
  await open(page, `/places/${places.find((place) => place.name === 'Bin 2').code}`);
  await page.getByText('23 °C').waitFor();
  await page.getByText('How this page looks').click();
  await page.getByLabel('Units').selectOption('us');
  await page.getByText('73 °F').waitFor(); // 23 x 1.8 + 32 = 73.4
  await page.getByText('7.9 US gal').waitFor(); // 30 L / 3.785411784 L (NIST Handbook 44, appendix C)
  const ground = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  const light = await ground();
  await page.getByLabel('Light or dark').selectOption('dark');
  const dark = await ground();
  assert.notEqual(light, dark);
  await page.reload();
  await shown(page);
  assert.equal(await ground(), dark);
  await page.getByText('73 °F').waitFor();
  await context.close();
});

test('what is recorded elsewhere appears by itself', async () => {
  const { page, context } = await newPage();
  const { places } = await json('/api/v1/places');
  const bin = places.find((place) => place.name === 'Bin 3');
  await open(page, `/places/${bin.code}`);
  const before = await page.locator('.record li').count();
  const now = new Date(Date.now() - 60_000).toISOString().slice(0, 19);
  await json('/api/v1/events', {
    method: 'POST',
    body: JSON.stringify({
      id: 'bbbbbbbb-0000-4000-8000-000000000002', kind: 'look_done', occurred_at: `${now}Z`, body: { place: bin.id, effort: 'roots' },
    }),
  });
  await page.evaluate(() => window.dispatchEvent(new Event('focus')));
  await page.waitForFunction((n) => document.querySelectorAll('.record li').length > n, before);
  assert.match(await page.locator('.record li').first().innerText(), /A look at the roots/);
  await context.close();
});

test('an empty room says what its lists are for', async () => {
  const empty = makeRoom({ isEmpty: true });
  const second = await startServer(empty.room);
  const { context } = await newContext(browser, VIEWS.phone, second.base);
  const page = await context.newPage();
  await page.goto(second.signIn);
  await page.getByText('Nothing is due.').waitFor();
  await page.getByRole('link', { name: 'Lots', exact: true }).click();
  await page.getByText('There are no lots yet.').waitFor();
  await page.getByRole('link', { name: 'Places', exact: true }).click();
  await page.getByText('There are no places yet.').waitFor();
  await context.close();
  await second.stop();
  empty.remove();
});

test('a lot that is not there is said in the server’s words', async () => {
  const { page, context } = await newPage();
  await page.goto('/lots/XXXXXX');
  await page.getByRole('alert').getByText('there is no lot "XXXXXX"').waitFor();
  await context.close();
});

// Last: it stops the server.
test('when the server stops, the page says so and keeps what it shows', async () => {
  const { page, context } = await newPage();
  await open(page, '/');
  await server.stop();
  const asked = page.waitForEvent('requestfailed');
  await page.evaluate(() => window.dispatchEvent(new Event('focus')));
  await asked;
  assert.ok(await page.getByText('Bin 2 is on hold').isVisible());
  await page.getByRole('link', { name: 'Lots', exact: true }).click();
  await page.getByText('The server does not answer.', { exact: false }).waitFor();
  await page.getByRole('button', { name: 'Try again' }).waitFor();
  await context.close();
});
