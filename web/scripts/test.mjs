// Runs tests/browser/*.test.mjs (or those named) one after the other, each in a bounded time. A file that
// fails is run once more: a browser under load can be late; what went wrong the first time is printed whole
// and said again at the end. The last line is "browser: N passed, M failed"; exit 0 only when M is 0.
import { spawn } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const LIMIT_MS = 15 * 60_000;
const folder = fileURLToPath(new URL('../../tests/browser/', import.meta.url));
const wanted = process.argv.slice(2);
const files = readdirSync(folder)
  .filter((name) => name.endsWith('.test.mjs'))
  .filter((name) => wanted.length === 0 || wanted.some((word) => name.includes(word)))
  .sort();

/** One file in a process of its own: { passed, failed }. */
function runFile(name) {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, ['--test', '--test-reporter', 'tap', folder + name], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let text = '';
    const kill = setTimeout(() => child.kill('SIGKILL'), LIMIT_MS);
    child.stdout.on('data', (bytes) => (text += bytes));
    child.on('exit', (code) => {
      clearTimeout(kill);
      const count = (word) => Number(new RegExp(`^# ${word} (\\d+)$`, 'm').exec(text)?.[1] ?? 0);
      const passed = count('pass');
      const failed = Math.max(count('fail') + count('cancelled'), code === 0 && passed > 0 ? 0 : 1);
      if (failed > 0) process.stdout.write(text);
      console.log(`${name}: ${passed} passed, ${failed} failed`);
      resolve({ passed, failed });
    });
  });
}

const total = { passed: 0, failed: 0 };
const again = [];
for (const name of files) {
  let { passed, failed } = await runFile(name);
  if (failed > 0) {
    again.push(name);
    ({ passed, failed } = await runFile(name));
  }
  total.passed += passed;
  total.failed += failed;
}
if (again.length > 0) console.log(`browser: run a second time, look into it: ${again.join(', ')}`);
console.log(`browser: ${total.passed} passed, ${total.failed} failed`);
process.exitCode = total.failed === 0 && total.passed > 0 ? 0 : 1;
