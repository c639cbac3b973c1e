// Builds over the API: planned by an event, worked backwards, held to the description.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { cookieOf, makeRoom, requireFromWeb, root, startServer } from './support.mjs';

const { parse } = requireFromWeb('yaml');
const Ajv2020 = requireFromWeb('ajv/dist/2020').default;
const ajv = new Ajv2020({ strict: false, allErrors: true });
ajv.addSchema(parse(readFileSync(`${root}api/openapi.yaml`, 'utf8')), 'api');
const isCollection = ajv.getSchema('api#/components/schemas/Collection');
const isBuilds = ajv.getSchema('api#/components/schemas/Builds');

let made;
let server;
let cookie;

before(async () => {
  made = makeRoom();
  server = await startServer(made.room);
  cookie = await cookieOf(server);
});
after(async () => {
  await server?.stop();
  made?.remove();
});

function ask(path, init = {}) {
  const headers = { Cookie: cookie, Origin: server.base, ...init.headers };
  return fetch(server.base + path, { ...init, headers, signal: AbortSignal.timeout(30_000) });
}

async function builds() {
  const body = await (await ask('/api/v1/builds')).json();
  assert.ok(isBuilds(body), ajv.errorsText(isBuilds.errors?.slice(0, 5)));
  return body;
}

function inDays(n) {
  return new Date(Date.now() + n * 86_400_000).toISOString().slice(0, 10);
}

async function plan(need_by, plan_json, id) {
  const event = {
    id, kind: 'build_planned', occurred_at: new Date(Date.now() - 60_000).toISOString().slice(0, 19) + 'Z',
    body: { build: 'bbbbbbbb-0000-4000-8000-000000000001', name: 'the hall tank', need_by, plan_json },
  };
  const answer = await ask('/api/v1/events', {
    method: 'POST', headers: { 'Content-Type': 'application/json', 'Idempotency-Key': id }, body: JSON.stringify(event),
  });
  assert.equal(answer.status, 201, await answer.text());
}

test('no build is an answer', async () => {
  const none = await builds();
  assert.deepEqual(none.builds, []);
  assert.equal(none.late_days, 0);
});

test('a build is worked backwards, and a later plan replaces it', async () => {
  await plan(inDays(200), { plants: [{ name: 'Nerve plant', count: 30 }], materials: [{ name: 'epiphyte', volume_l: 7 }] },
    'aaaaaaaa-0000-4000-8000-0000000000b1');
  const [build] = (await builds()).builds;
  assert.equal(build.need_by_on, inDays(200));
  assert.equal(build.lines.reduce((n, line) => n + line.count, 0), 30);
  const parts = build.materials[0].parts.reduce((sum, part) => sum + part.volume_l, 0);
  assert.ok(Math.abs(parts - 7 / 0.875) < 1e-9); // the loose parts of 7 finished litres
  await plan(inDays(3), { plants: [{ name: 'a plant nobody has', count: 1 }] }, 'aaaaaaaa-0000-4000-8000-0000000000b2');
  const soon = (await builds()).builds;
  assert.equal(soon.length, 1);
  assert.equal(soon[0].is_met, false);
  assert.equal(soon[0].suitability[0].is_known, false);
});

test('the collection, by plant', async () => {
  const { lots } = await (await ask('/api/v1/lots')).json();
  const body = await (await ask('/api/v1/collection')).json();
  assert.ok(isCollection(body), ajv.errorsText(isCollection.errors?.slice(0, 5)));
  const here = body.plants.flatMap((plant) => plant.lots.map(({ lot }) => lot.id));
  assert.ok(here.length > 0 && here.every((id) => lots.some((lot) => lot.id === id)));
  assert.equal(new Set(here).size, here.length);
});
