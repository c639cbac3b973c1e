// What other pages can do to a keeper who is signed in, tried in a real browser: rebound names, other ports of
// this computer, other sites; by fetch, by form, by frame. What must hold stands in docs/models/server.md. The
// raw requests are in tests/unit/http/test_server.c; here the browser adds what browsers add.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { cookieOf, launch, makeRoom, newContext, startServer, VIEWS } from './support.mjs';

const WAIT_MS = 10_000;
let made;
let server;
let port;
let token;
let cookie;
let browser;
let elsewhere; // a page server of another site, and of another port of this one

before(async () => {
  made = makeRoom({ isEmpty: true });
  server = await startServer(made.room, '--host-name', 'bench.lan');
  port = new URL(server.base).port;
  token = readFileSync(join(made.room, 'server-token'), 'utf8');
  cookie = await cookieOf(server);
  browser = await launch('--host-resolver-rules=MAP *.lan 127.0.0.1');
  elsewhere = createServer((request, response) => {
    response.setHeader('Content-Type', 'text/html');
    response.end('<!doctype html><title>elsewhere</title><body>elsewhere</body>');
  });
  await new Promise((resolve) => elsewhere.listen(0, '127.0.0.1', resolve));
});
after(async () => {
  await browser?.close();
  elsewhere?.closeAllConnections();
  elsewhere?.close();
  await server?.stop();
  made?.remove();
});

const asProgram = (path, init = {}) =>
  fetch(server.base + path, {
    ...init,
    headers: { Authorization: `Bearer ${token}`, 'Content-Type': 'application/json', ...init.headers },
    signal: AbortSignal.timeout(WAIT_MS),
  });
const position = async () => (await (await asProgram('/api/v1/changes?since=0')).json()).position;

/** A page at `url` in a context where the keeper is signed in at 127.0.0.1 and at bench.lan. */
async function pageAt(url) {
  const { context } = await newContext(browser, VIEWS.laptop, server.base, cookie);
  const [name, value] = cookie.split(/=(.*)/s);
  await context.addCookies([
    { name, value, url: `http://bench.lan:${port}`, httpOnly: true, sameSite: 'Strict' },
  ]);
  const page = await context.newPage();
  const answer = await page.goto(url);
  return { page, context, answer };
}

const event = (id) => ({
  id,
  kind: 'source_set',
  occurred_at: '2026-01-01T10:00:00Z',
  body: {
    source: id.replace('-4000-', '-4001-'),
    name: 'Corner shop',
    kind: 'chain_store',
    has_animals_with_plants: false,
  },
});

/** In the page: what a fetch came to: its status, 0 for an opaque answer, or the error's name. */
const tryFetch = (page, url, init) =>
  page.evaluate(
    async ([to, options]) => {
      try {
        const answer = await fetch(to, options);
        return answer.type === 'opaque' ? 0 : answer.status;
      } catch (error) {
        return error.name;
      }
    },
    [url, init],
  );

const foreign = () => [
  `http://127.0.0.1:${elsewhere.address().port}/`, // the same site by the browser's reckoning: cookies go along
  `http://evil.lan:${elsewhere.address().port}/`,
];
const targets = () => [server.base, `http://bench.lan:${port}`];

test('our own page reads and writes, by number and by a name without TLS', async () => {
  const ids = ['00000000-0000-4000-8000-000000000001', '00000000-0000-4000-8000-000000000002'];
  for (const [i, base] of targets().entries()) {
    const { page, context, answer } = await pageAt(`${base}/`);
    assert.equal(answer.status(), 200);
    const before = await position();
    assert.equal(await tryFetch(page, '/api/v1/today', {}), 200);
    const init = {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', 'Idempotency-Key': ids[i] },
      body: JSON.stringify(event(ids[i])),
    };
    assert.equal(await tryFetch(page, '/api/v1/events', init), 201);
    assert.equal(await tryFetch(page, '/api/v1/events', init), 200);
    assert.equal(await position(), before + 1);
    assert.equal(await page.evaluate(() => document.cookie), '');
    await context.close();
  }
});

test('a session is made at a name without TLS, and its cookie is kept', async () => {
  const named = await startServer(made.room, '--host-name', 'bench.lan');
  const { context } = await newContext(browser, VIEWS.phone, named.base);
  const page = await context.newPage();
  await page.goto(named.signIn.replace('127.0.0.1', 'bench.lan'));
  await page.getByRole('heading', { level: 1, name: 'Today' }).waitFor();
  const [kept] = await context.cookies();
  assert.match(kept.name, /^fernlock_[0-9a-f]{8}$/);
  assert.equal(kept.httpOnly, true);
  assert.equal(kept.sameSite, 'Strict');
  assert.equal(kept.path, '/');
  await context.close();
  await named.stop();
});

test('a name that is not ours gets a page that says what to change, and nothing else', async () => {
  const { page, context, answer } = await pageAt(`http://rebound.lan:${port}/`);
  assert.equal(answer.status(), 421);
  assert.match(await page.locator('main').innerText(), /--host-name/);
  for (const path of ['/api/v1/today', '/icon.svg', '/api/v1/session']) {
    assert.equal(await tryFetch(page, path, {}), 421, path);
  }
  const body = JSON.stringify({ key: 'x' });
  const headers = { 'Content-Type': 'application/json' };
  assert.equal(await tryFetch(page, '/api/v1/session', { method: 'POST', headers, body }), 421);
  await context.close();
});

test('another site cannot read or write by fetch', async () => {
  const before = await position();
  const body = JSON.stringify(event('00000000-0000-4000-8000-000000000003'));
  for (const from of foreign()) {
    const { page, context } = await pageAt(from);
    for (const base of targets()) {
      const read = (init) => tryFetch(page, `${base}/api/v1/today`, init);
      assert.equal(await read({ credentials: 'include' }), 'TypeError', 'no CORS');
      assert.equal(await read({ credentials: 'include', mode: 'no-cors' }), 'TypeError', 'CORP');
      const write = (init) => tryFetch(page, `${base}/api/v1/events`, { method: 'POST', body, ...init });
      await write({ credentials: 'include', mode: 'no-cors', headers: { 'Content-Type': 'text/plain' } });
      await write({ credentials: 'include', headers: { 'Content-Type': 'application/json' } });
      await write({ mode: 'no-cors' });
    }
    await context.close();
  }
  assert.equal(await position(), before);
});

test('the preflight of another site is answered without a permission', async () => {
  const answer = await fetch(`${server.base}/api/v1/events`, {
    method: 'OPTIONS',
    headers: {
      Origin: 'http://evil.lan',
      'Access-Control-Request-Method': 'POST',
      'Access-Control-Request-Headers': 'content-type',
      'Access-Control-Request-Private-Network': 'true',
    },
    signal: AbortSignal.timeout(WAIT_MS),
  });
  assert.equal(answer.ok, false);
  assert.deepEqual([...answer.headers.keys()].filter((name) => name.startsWith('access-control-')), []);
});

test('a form of another site is refused, and the refusal is shown', async () => {
  const before = await position();
  for (const from of foreign()) {
    for (const base of targets()) {
      const { page, context } = await pageAt(from);
      const refused = page.waitForResponse((answer) => answer.url().endsWith('/api/v1/events'), { timeout: WAIT_MS });
      await page.evaluate(
        ([action, json]) => {
          const form = document.createElement('form');
          form.method = 'POST';
          form.enctype = 'text/plain';
          form.action = action;
          const field = document.createElement('input');
          field.name = `${json.slice(0, -1)},"x":"`;
          field.value = '"}';
          form.append(field);
          document.body.append(form);
          form.submit();
        },
        [`${base}/api/v1/events`, JSON.stringify(event('00000000-0000-4000-8000-000000000004'))],
      );
      // to another site the strict cookie does not go along: 401; to another port it does: 403
      const status = (await refused).status();
      assert.ok(status === 403 || status === 401, `${from} to ${base}: ${status}`);
      await context.close();
    }
  }
  assert.equal(await position(), before);
});

test('no other page can frame ours', async () => {
  for (const from of foreign()) {
    const { page, context } = await pageAt(from);
    await page.evaluate(
      (to) =>
        new Promise((resolve) => {
          const frame = document.createElement('iframe');
          frame.addEventListener('load', resolve);
          frame.src = to;
          document.body.append(frame);
        }),
      `${server.base}/`,
    );
    const [, frame] = page.frames();
    assert.equal(await frame.evaluate(() => document.querySelectorAll('#app, main').length), 0);
    await context.close();
  }
});

test('no other page can load our script or picture', async () => {
  const script = /src="(\/main-[^"]+)"/.exec(await (await fetch(`${server.base}/`)).text())?.[1];
  assert.ok(script);
  for (const from of foreign()) {
    const { page, context } = await pageAt(from);
    for (const [tag, path] of [['script', script], ['img', '/icon.svg']]) {
      const outcome = await page.evaluate(
        ([name, src]) =>
          new Promise((resolve) => {
            const element = document.createElement(name);
            element.addEventListener('load', () => resolve('load'));
            element.addEventListener('error', () => resolve('error'));
            element.src = src;
            document.body.append(element);
          }),
        [tag, server.base + path],
      );
      assert.equal(outcome, 'error', `${tag} from ${from}`);
    }
    await context.close();
  }
});

test('a script or a style that is written into our page does not run', async () => {
  const { page, context } = await pageAt(`${server.base}/`);
  const outcome = await page.evaluate(() => {
    const seen = [];
    document.addEventListener('securitypolicyviolation', (violation) => seen.push(violation.effectiveDirective));
    const script = document.createElement('script');
    script.textContent = 'window.wasRun = true';
    document.body.append(script);
    const picture = document.createElement('img');
    picture.src = 'http://evil.lan/x.png';
    document.body.append(picture);
    return new Promise((resolve) => {
      setTimeout(() => resolve({ wasRun: window.wasRun === true, seen }), 500);
    });
  });
  assert.equal(outcome.wasRun, false);
  assert.deepEqual([...new Set(outcome.seen)].sort(), ['img-src', 'script-src-elem']);
  await context.close();
});
