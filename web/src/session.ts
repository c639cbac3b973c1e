// The start of a session: the address that `fernlock serve` prints carries a one-time key behind '#',
// where no log and no other page sees it. It is spent once and taken out of the address at once.
import { client, settle, type Trouble } from './api';

/** The key of the address, taken out of it; empty when there is none. */
export function takeKey(): string {
  const found = /^#k=(.+)$/.exec(location.hash);
  if (!found?.[1]) return '';
  history.replaceState(null, '', location.pathname);
  return decodeURIComponent(found[1]);
}

/** Undefined when it worked. */
export async function signIn(key: string): Promise<Trouble | undefined> {
  const answer = await settle(client.POST('/api/v1/session', { body: { key } }));
  return 'trouble' in answer ? answer.trouble : undefined;
}
