// An existing collection, pasted: looked at, recorded once, held to the description.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fitting } from './described.mjs';
import { stage } from './support.mjs';

let server;
let cookie;

stage((at) => ({ server, cookie } = at), { isEmpty: true });

async function post(body) {
  const response = await fetch(`${server.base}/api/v1/already-here`, {
    method: 'POST',
    headers: { Cookie: cookie, Origin: server.base, 'Content-Type': 'application/json' },
    body: JSON.stringify(body),
    signal: AbortSignal.timeout(30_000),
  });
  const said = await response.json();
  if (response.status === 200) fitting('MovedIn', said);
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
