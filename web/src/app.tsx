// The frame of every screen: skip link, pages, the screen of the address, settings.
import { useEffect, useState } from 'preact/hooks';
import { client, settle, type Trouble } from './api';
import { LookFields } from './parts/lookfields';
import { Loaded, warmScreens } from './parts/loaded';
import { Heading } from './parts/screen';
import { Hatching } from './parts/strip';
import { Recorded } from './record/recorded';
import { usePath } from './router';
import { bar, screenAt } from './screens';
import { NotFound } from './screens/notfound';
import { SignIn } from './screens/signin';
import { askSession, follow, keepWish, PAIR_PATH, signIn, takeWish, useIsDevice, useIsKnown } from './session';
import { S } from './strings.en';

/** What a phone sees where something is imported or let in. */
function AtComputer({ title }: { title: string }) {
  return (
    <div class="column">
      <Heading title={title}>{title}</Heading>
      <p class="lead">{S.atComputer}</p>
    </div>
  );
}

function Screen({ address }: { address: string }) {
  const [path = '', search = ''] = address.split('?');
  const found = screenAt(path);
  const isDevice = useIsDevice();
  if (!found) return <NotFound />;
  if (found.entry.isKeepers && isDevice) return <AtComputer title={found.entry.title} />;
  return <Loaded entry={found.entry} params={found.params} query={new URLSearchParams(search)} />;
}

function isWithin(path: string, to: string): boolean {
  return to === '/' ? path === '/' : path === to || path.startsWith(`${to}/`);
}

function Pages({ path }: { path: string }) {
  return (
    <nav class="pages" aria-label={S.navLabel}>
      <ul>
        {bar.map(({ to, name, also = [] }) => (
          <li key={to}>
            <a href={to} aria-current={path === to ? 'page' : [to, ...also].some((one) => isWithin(path, one)) ? 'true' : undefined}>
              {name}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

/** On every screen of the demo room: what is seen here is invented, and the way out. */
function DemoMark() {
  const isKnown = useIsKnown();
  const [isDemo, setDemo] = useState(false);
  useEffect(() => {
    if (isKnown) void settle(client.GET('/api/v1/room')).then((answer) => setDemo('data' in answer && answer.data.is_demo));
  }, [isKnown]);
  return isDemo ? <p class="demo-mark">{S.demo} <a href="/settings#demo">{S.demoLeave}</a></p> : null;
}

function Settings({ onUnits }: { onUnits: () => void }) {
  return (
    <details class="settings">
      <summary>{S.settings.label}</summary>
      <LookFields onUnits={onUnits} />
    </details>
  );
}

type Entry = { is: 'in' } | { is: 'trying' } | { is: 'refused'; trouble: Trouble } | { is: 'stranger' };

/** How this browser comes in: by a sign-in key, by a label's code that wants a session first, or simply. */
async function enter(signInKey: string, wish: string | undefined): Promise<Entry> {
  if (wish !== undefined) keepWish(wish);
  if (signInKey) {
    const trouble = await signIn(signInKey);
    if (trouble) return { is: 'refused', trouble };
  } else if (!(await askSession())) {
    return { is: 'stranger' };
  }
  const to = takeWish();
  if (to === undefined) return { is: 'in' };
  follow(to);
  return { is: 'trying' };
}

export function App({ signInKey, wish }: { signInKey: string; wish: string | undefined }) {
  const address = usePath();
  const path = address.split('?')[0] ?? '/';
  const isAsked = signInKey !== '' || wish !== undefined;
  const [entry, setEntry] = useState<Entry>({ is: isAsked ? 'trying' : 'in' });
  const [, redraw] = useState(0);
  const isPairing = path === PAIR_PATH;

  useEffect(() => {
    if (entry.is === 'in' && !isPairing) warmScreens();
  }, [entry.is, isPairing]);

  useEffect(() => {
    if (isAsked) void enter(signInKey, wish).then(setEntry);
    else if (!isPairing) void askSession();
  }, []);

  return (
    <>
      <Hatching />
      <a class="skip" href="#page">{S.skip}</a>
      <header class="top">
        <a class="wordmark" href="/">{S.app}</a>
        {!isPairing && <Pages path={path} />}
        {!isPairing && <DemoMark />}
      </header>
      <main id="page" tabIndex={-1}>
        {entry.is === 'in' && <Screen address={address} />}
        {entry.is === 'trying' && <p class="quiet">{S.signIn.working}</p>}
        {entry.is === 'refused' && <SignIn trouble={entry.trouble} />}
        {entry.is === 'stranger' && <SignIn />}
      </main>
      <Recorded />
      <footer class="foot">
        <p class="quiet">{S.tells}</p>
        <Settings onUnits={() => redraw((n) => n + 1)} />
      </footer>
    </>
  );
}
