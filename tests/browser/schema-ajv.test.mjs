// The same cases that the C checker answers (tests/unit/json/test_schema.c), answered by ajv, an
// independent validator of JSON Schema 2020-12; and every schema of schema/ under ajv's strict mode.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { test } from 'node:test';

const root = new URL('../../', import.meta.url);
const requireFromWeb = createRequire(new URL('web/package.json', root));
const Ajv2020 = requireFromWeb('ajv/dist/2020').default;

const readJson = (path) => JSON.parse(readFileSync(new URL(path, root), 'utf8'));
const { cases } = readJson('tests/reference/schema_cases.json');
const files = readdirSync(new URL('schema/', root)).filter((name) => name.endsWith('.json'));

function newAjv() {
  const ajv = new Ajv2020({ strict: true, strictTypes: false, strictRequired: false });
  for (const name of files) ajv.addSchema(readJson(`schema/${name}`), name);
  return ajv;
}

function judge(ajv, entry) {
  let validate;
  try {
    validate = entry.kind ? ajv.getSchema(`${entry.kind}.json`) : ajv.compile(entry.schema);
  } catch {
    return 'bad schema';
  }
  return validate(entry.value) ? 'fits' : 'misfit';
}

test('every schema compiles in strict mode', () => {
  const ajv = newAjv();
  assert.equal(files.length, 34); // a kind each, what they share, and the history card
  for (const name of files) {
    if (name !== 'common.json') assert.equal(typeof ajv.getSchema(name), 'function', name);
  }
});

test('ajv gives the verdict of every case', () => {
  const ajv = newAjv();
  assert.ok(cases.length > 600, `${cases.length} cases`);
  const other = cases
    .filter((entry) => !entry.standard) // ajv knows more keywords than ours does
    .map((entry) => ({ name: entry.name, wanted: entry.verdict, got: judge(ajv, entry) }))
    .filter((entry) => entry.got !== entry.wanted);
  assert.deepEqual(other, []);
});

test('the examples of the guide fit', () => {
  const ajv = newAjv();
  const folder = 'tests/unit/json/events/';
  const names = readdirSync(new URL(folder, root));
  assert.equal(names.length, 32);
  for (const name of names) {
    const validate = ajv.getSchema(name);
    assert.ok(validate(readJson(folder + name)), `${name}: ${JSON.stringify(validate.errors)}`);
  }
});
