// An existing collection, pasted: looked at, recorded once, held to the description.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { cookieOf, makeRoom, requireFromWeb, root, startServer } from './support.mjs';

const { parse } = requireFromWeb('yaml');
const Ajv2020 = requireFromWeb('ajv/dist/2020').default;
const ajv = new Ajv2020({ strict: false, allErrors: true });
ajv.addSchema(parse(readFileSync(`${root}api/openapi.yaml`, 'utf8')), 'api');
const isMovedIn = ajv.getSchema('api#/components/schemas/MovedIn');

let made;
let server;
let cookie;

before(async () => {
  made = makeRoom({ isEmpty: true });
  server = await startServer(made.room);
  cookie = await cookieOf(server);
});
after(async () => {
  await server?.stop();
  made?.remove();
});

async function post(body) {
  const response = await fetch(`${server.base}/api/v1/already-here`, {
    method: 'POST',
    headers: { Cookie: cookie, Origin: server.base, 'Content-Type': 'application/json' },
    body: JSON.stringify(body),
    signal: AbortSignal.timeout(30_000),
  });
  const said = await response.json();
  if (response.status === 200) assert.ok(isMovedIn(said), ajv.errorsText(isMovedIn.errors?.slice(0, 5)));
  return { status: response.status, said };
}

const lots = async () =>
  (await (await fetch(`${server.base}/api/v1/lots`, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) })).json()).lots;

test('a list is looked at first, then recorded once', async () => {
  const list = {
    id: 'cccccccc-0000-4000-8000-000000000001',
    occurred_at: new Date(Date.now() - 60_000).toISOString().slice(0, 19) + 'Z',
    text: 'Brook (5 small frogs): 3 Ficus pumila, Pilea cadierei\nLedge:\n2 moss',
  };
  const seen = await post(list);
  assert.deepEqual([seen.said.is_recorded, seen.said.lots.length, seen.said.places.length], [false, 3, 2]);
  assert.equal((await lots()).length, 0);
  const first = await post({ ...list, is_preview: false });
  assert.equal(first.said.is_recorded, true);
  assert.equal((await lots()).length, 3);
  await post({ ...list, is_preview: false });
  assert.equal((await lots()).length, 3);
});

test('a line that is not understood keeps the rest from being recorded', async () => {
  const { said } = await post({
    id: 'cccccccc-0000-4000-8000-000000000002', occurred_at: '2026-03-01', text: 'Ledge\tfern\tmany\nLedge\tfern\tmany', is_preview: false,
  });
  assert.equal(said.is_recorded, false);
  assert.match(said.troubles[0].text, /whole number/);
  assert.equal((await post({ id: 'no id', occurred_at: '2026-03-01', text: '' })).status, 400);
});
