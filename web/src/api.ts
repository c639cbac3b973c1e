// The typed client, made from api/openapi.yaml, and what can go wrong with it.
import createClient from 'openapi-fetch';
import type { components, paths } from '../build/api';
import { S } from './strings.en';

export type Schemas = components['schemas'];
export type Today = Schemas['Today'];
export type Due = Schemas['Due'];
export type Room = Schemas['Room'];
export type LotBrief = Schemas['LotBrief'];
export type Lot = Schemas['Lot'];
export type LotChance = Schemas['LotChance'];
export type ThreatChance = Schemas['ThreatChance'];
export type Place = Schemas['Place'];
export type PlaceBrief = Schemas['PlaceBrief'];
export type Gate = Schemas['Gate'];
export type Condition = Schemas['Condition'];
export type Look = Schemas['Look'];
export type Finding = Schemas['Finding'];
export type Plan = Schemas['Plan'];
export type PlaceKind = Schemas['PlaceKind'];
export type Use = Schemas['Use'];
export type Phase = LotBrief['phase'];

export const client = createClient<paths>({ baseUrl: window.location.origin });

/** A list without what the gate and the chances say: at once, also in a room of thousands. */
export const PLAIN = { params: { query: { plain: true } } } as const;

/** What a person is told when an answer did not come. status 0: the server did not answer at all. */
export interface Trouble {
  status: number;
  title: string;
  detail: string;
}

interface Reply<T> {
  data?: T;
  error?: unknown;
  response: Response;
}

function textOf(value: unknown, key: string): string {
  const found = value && typeof value === 'object' ? (value as Record<string, unknown>)[key] : undefined;
  return typeof found === 'string' ? found : '';
}

/** The answer, or the trouble; never throws. */
export async function settle<T>(asked: Promise<Reply<T>>): Promise<{ data: T } | { trouble: Trouble }> {
  try {
    const { data, error, response } = await asked;
    if (response.ok && data !== undefined) return { data };
    return {
      trouble: {
        status: response.status,
        title: textOf(error, 'title') || response.statusText || `HTTP ${response.status}`,
        detail: textOf(error, 'detail'),
      },
    };
  } catch (problem) {
    return { trouble: { status: 0, title: '', detail: problem instanceof Error ? problem.message : '' } };
  }
}

/** Of a request whose answer has no body: undefined when it was done, else what a person is told. */
export async function refusal(asked: Promise<{ error?: unknown; response: Response }>): Promise<string | undefined> {
  try {
    const { error, response } = await asked;
    if (response.ok) return undefined;
    return textOf(error, 'detail') || textOf(error, 'title') || response.statusText;
  } catch {
    return S.unreachable;
  }
}
