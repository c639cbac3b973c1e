// api/openapi.yaml in the hands of ajv, an independent validator of JSON Schema 2020-12.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { requireFromWeb, root } from './support.mjs';

const { parse } = requireFromWeb('yaml');
const Ajv2020 = requireFromWeb('ajv/dist/2020').default;

/** The description itself. */
export const api = parse(readFileSync(`${root}api/openapi.yaml`, 'utf8'));

const ajv = new Ajv2020({ strict: false, allErrors: true });
ajv.addSchema(api, 'api');

/** The validator of a part of the description, by its path in it. */
export function validator(...path) {
  const pointer = path.map((part) => encodeURIComponent(String(part).replace(/~/g, '~0').replace(/\//g, '~1'))).join('/');
  const found = ajv.getSchema(`api#/${pointer}`);
  assert.ok(found, `no schema at ${pointer}`);
  return found;
}

/** Fails unless the value fits; `what` it is, for the message. */
export function fits(validate, value, what) {
  assert.ok(validate(value), `${what}: ${ajv.errorsText(validate.errors?.slice(0, 5), { separator: '\n' })}`);
}

/** The value, which must fit the schema of that name. */
export function fitting(schema, value, what = schema) {
  fits(validator('components', 'schemas', schema), value, what);
  return value;
}
