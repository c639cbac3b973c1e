// Builds over the API: planned by an event, worked backwards, held to the description.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fitting } from './described.mjs';
import { stage } from './support.mjs';

let ask;

stage((at) => ({ ask } = at));

async function builds() {
  const body = await (await ask('/api/v1/builds')).json();
  return fitting('Builds', body);
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
  fitting('Collection', body);
  const here = body.plants.flatMap((plant) => plant.lots.map(({ lot }) => lot.id));
  assert.ok(here.length > 0 && here.every((id) => lots.some((lot) => lot.id === id)));
  assert.equal(new Set(here).size, here.length);
});
