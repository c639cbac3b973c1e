// A crowd before the door (load.mjs), for a few seconds: nothing breaks, nothing grows, nothing secret is said, and a
// healthy client is served. What each odd client is told: docs/models/server.md. The figures of a long run are in
// docs/reliability.md, by bench/run-server.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { crowd, oddities, requests, residentKib, tokenOf } from './load.mjs';
import { run, stage } from './support.mjs';

const PER_ROUTE = 2;
const GROWTH_KIB = 24 * 1024; // a leak of 20 kB a request would be seen; caches of answers are bounded by 8 MiB
let made;
let server;
let json;

stage((all) => ({ made, server, json } = all));

test('50 idle and 50 busy connections, slow ones, odd ones, and imports', async () => {
  const token = tokenOf(made.room);
  const port = Number(new URL(server.base).port);
  const { lots } = await json('/api/v1/lots');
  const { places } = await json('/api/v1/places');
  const room = { lot: lots[0].code, place: places.find((one) => one.name === 'Bin 3').code };
  const odd = { pipelined: [200, 1], halfClosed: 200, cut: 0, longHead: 431, longBody: 413 };
  const total = requests(port, token, room).length;
  const crowded = (perRoute) =>
    crowd({ port, token, room, idle: 50, busy: 50, slow: 10, rows: 2_000, everyMs: 10, isDone: (n) => n >= perRoute * total });
  await crowded(1); // what is kept once is kept from now on
  const before = residentKib(server.pid);
  const seen = await crowded(PER_ROUTE);
  assert.deepEqual(await oddities(port, token), odd);
  const after = residentKib(server.pid);
  assert.deepEqual(seen.failed, []);
  assert.deepEqual(seen.bad, []);
  assert.ok(seen.imports >= 1);
  assert.ok(after - before < GROWTH_KIB, `grew from ${before} to ${after} KiB`);
  for (const [name, list] of Object.entries(seen.times)) assert.ok(list.length >= 3, name); // how soon: bench/run-server
  assert.ok(!server.said().includes(token.slice(0, 16)));
  run(made.room, 'verify');
});
