// The server before a crowd: 50 idle and 50 busy connections, slow senders, odd ones, every route asked N times, imports all the
// while, and a healthy client that measures how long it waits. Not a test: the short form of it is tests/browser/load.test.mjs.
//
// usage: bench/run-server [N]
import { at, crowd, oddities, requests, residentKib, tokenOf } from '../tests/browser/load.mjs';
import { cookieOf, makeRoom, run, startServer } from '../tests/browser/support.mjs';

const PER_ROUTE = Number(process.argv[2] ?? 100);
const ROUNDS = 4;
const made = makeRoom();
const server = await startServer(made.room);
const cookie = await cookieOf(server);
const json = async (path) => (await fetch(server.base + path, { headers: { Cookie: cookie } })).json();
const token = tokenOf(made.room);
const port = Number(new URL(server.base).port);
const { lots } = await json('/api/v1/lots');
const { places } = await json('/api/v1/places');
const room = { lot: lots[0].code, place: places.find((one) => one.name === 'Bin 3').code };
const total = requests(port, token, room).length;

console.log(`${total} operations, ${PER_ROUTE} requests each, in ${ROUNDS} rounds; resident before: ${(residentKib(server.pid) / 1024).toFixed(0)} MiB`);
for (let round = 1; round <= ROUNDS; round++) {
  const started = performance.now();
  const least = (PER_ROUTE / ROUNDS) * total;
  const seen = await crowd({ port, token, room, idle: 50, busy: 50, slow: 10, rows: 50_000, everyMs: 10, isDone: (n) => n >= least });
  const s = (performance.now() - started) / 1000;
  const waits = Object.entries(seen.times).map(([name, list]) => `${name} ${at(list, 0.5).toFixed(1)} / ${at(list, 0.99).toFixed(1)} / ${at(list, 1).toFixed(0)} (${list.length})`);
  console.log(`round ${round}: ${seen.n} requests in ${s.toFixed(0)} s, ${seen.imports} imports of 50,000 readings, ${seen.failed.length} failed, ${seen.bad.length} bad; resident ${(residentKib(server.pid) / 1024).toFixed(0)} MiB`);
  console.log(`  healthy client, ms, median / 99 of 100 / longest (n): ${waits.join(', ')}`);
  for (const line of [...seen.failed.slice(0, 5), ...seen.bad.slice(0, 5)]) console.log(`  ${line}`);
}
console.log(JSON.stringify(await oddities(port, token)));
await server.stop();
console.log(run(made.room, 'verify').trim());
made.remove();
