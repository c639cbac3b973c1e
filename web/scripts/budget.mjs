// Byte budgets of the bundle, gzip level 9: fails above. The last line says what is used.
import { readdirSync, readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';

const KB = 1000;
const LIMITS = { script: 60 * KB, style: 12 * KB, chunk: 40 * KB, total: 250 * KB, packages: 5 };
const web = new URL('../', import.meta.url);
const names = readdirSync(new URL('build/', web)).filter((name) => !name.endsWith('.d.ts'));
const size = (name) => gzipSync(readFileSync(new URL(`build/${name}`, web)), { level: 9 }).length;
const sum = (list) => list.reduce((total, name) => total + size(name), 0);

// What the first page loads: the entry and what it imports at once.
function firstLoad() {
  const entry = names.find((name) => name.startsWith('main-') && name.endsWith('.js'));
  const seen = new Set([entry]);
  for (const name of seen) {
    const text = readFileSync(new URL(`build/${name}`, web), 'utf8');
    for (const [, found] of text.matchAll(/(?:from|import)\s*"\.\/([^"]+\.js)"/g)) seen.add(found);
  }
  return [...seen];
}

const first = firstLoad();
const lazy = names.filter((name) => name.endsWith('.js') && !first.includes(name));
const packages = Object.keys(JSON.parse(readFileSync(new URL('package.json', web), 'utf8')).dependencies);
const used = {
  script: sum(first),
  style: sum(names.filter((name) => name.endsWith('.css'))),
  chunk: Math.max(0, ...lazy.map(size)),
  total: sum(names),
  packages: packages.length,
};
const over = Object.keys(LIMITS).filter((key) => used[key] > LIMITS[key]);
for (const key of over) console.error(`budget: ${key} ${used[key]} is over ${LIMITS[key]}`);
console.log(`budget: ${Object.entries(used).map(([key, n]) => `${key} ${n} of ${LIMITS[key]}`).join(', ')}`);
process.exitCode = over.length > 0 ? 1 : 0;
