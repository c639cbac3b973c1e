// The healthy client of load.mjs: a thread of its own, so that what the crowd costs this machine's other side is not
// counted as the server's. It asks until it is told to stop, and says how long each answer took.
import { connect } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { parentPort, workerData } from 'node:worker_threads';

const { port, token, everyMs } = workerData;
const paths = { page: '/', session: '/api/v1/session', changes: '/api/v1/changes?since=0' };
const times = Object.fromEntries(Object.keys(paths).map((name) => [name, []]));
const bad = [];
let isOn = true;
parentPort.on('message', () => {
  isOn = false;
});

function ask(path) {
  return new Promise((resolve) => {
    let came = '';
    const socket = connect({ host: '127.0.0.1', port });
    const end = () => {
      socket.destroy();
      resolve(came);
    };
    socket.setTimeout(30_000, end);
    socket.on('connect', () => socket.write(`GET ${path} HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nAuthorization: Bearer ${token}\r\n\r\n`));
    socket.on('data', (bytes) => {
      came += bytes.toString('latin1');
    });
    socket.on('end', end);
    socket.on('error', end);
  });
}

while (isOn) {
  for (const [name, path] of Object.entries(paths)) {
    const started = performance.now();
    const answer = await ask(path);
    times[name].push(performance.now() - started);
    if (!answer.startsWith('HTTP/1.1 200 ')) bad.push(`${path}: ${answer.slice(0, 40)}`);
    await wait(everyMs);
  }
}
for (const list of Object.values(times)) list.sort((a, b) => a - b);
parentPort.postMessage({ times, bad });
parentPort.close();
