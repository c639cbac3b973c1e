// TypeScript types from api/openapi.yaml, into build/api.d.ts (never into the program).
import { mkdirSync, writeFileSync } from 'node:fs';
import openapiTS, { astToString } from 'openapi-typescript';

const ast = await openapiTS(new URL('../../api/openapi.yaml', import.meta.url));
mkdirSync(new URL('../build/', import.meta.url), { recursive: true });
writeFileSync(new URL('../build/api.d.ts', import.meta.url), astToString(ast));
