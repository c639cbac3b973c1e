// The frame of every screen: skip link, pages, the screen of the address, settings.
import { useEffect, useState } from 'preact/hooks';
import type { Trouble } from './api';
import { keepUnits, units, type Units } from './format';
import { Loaded, warmScreens } from './parts/loaded';
import { Hatching } from './parts/strip';
import { Recorded } from './record/recorded';
import { usePath } from './router';
import { bar, screenAt } from './screens';
import { NotFound } from './screens/notfound';
import { SignIn } from './screens/signin';
import { signIn } from './session';
import { S } from './strings.en';
import { applyTheme, theme, type Theme } from './theme';

function Screen({ address }: { address: string }) {
  const [path = '', search = ''] = address.split('?');
  const found = screenAt(path);
  if (!found) return <NotFound />;
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

function Settings({ onUnits }: { onUnits: () => void }) {
  const [chosen, setChosen] = useState<Theme>(theme());
  const [unit, setUnit] = useState<Units>(units());
  return (
    <details class="settings">
      <summary>{S.settings.label}</summary>
      <div class="settings-fields">
        <label>
          {S.settings.theme}
          <select
            value={chosen}
            onChange={(event) => {
              const value = event.currentTarget.value as Theme;
              applyTheme(value);
              setChosen(value);
            }}
          >
            {Object.entries(S.settings.themes).map(([value, name]) => (
              <option key={value} value={value}>{name}</option>
            ))}
          </select>
        </label>
        <label>
          {S.settings.units}
          <select
            value={unit}
            onChange={(event) => {
              const value = event.currentTarget.value as Units;
              keepUnits(value);
              setUnit(value);
              onUnits();
            }}
          >
            {Object.entries(S.settings.unitNames).map(([value, name]) => (
              <option key={value} value={value}>{name}</option>
            ))}
          </select>
        </label>
      </div>
    </details>
  );
}

type Entry = { is: 'in' } | { is: 'trying' } | { is: 'refused'; trouble: Trouble };

export function App({ signInKey }: { signInKey: string }) {
  const address = usePath();
  const path = address.split('?')[0] ?? '/';
  const [entry, setEntry] = useState<Entry>({ is: signInKey ? 'trying' : 'in' });
  const [, redraw] = useState(0);

  useEffect(() => {
    if (entry.is === 'in') warmScreens();
  }, [entry.is]);

  useEffect(() => {
    if (!signInKey) return;
    void signIn(signInKey).then((trouble) => setEntry(trouble ? { is: 'refused', trouble } : { is: 'in' }));
  }, []);

  return (
    <>
      <Hatching />
      <a class="skip" href="#page">{S.skip}</a>
      <header class="top">
        <a class="wordmark" href="/">{S.app}</a>
        <Pages path={path} />
      </header>
      <main id="page" tabIndex={-1}>
        {entry.is === 'in' && <Screen address={address} />}
        {entry.is === 'trying' && <p class="quiet">{S.signIn.working}</p>}
        {entry.is === 'refused' && <SignIn trouble={entry.trouble} />}
      </main>
      <Recorded />
      <footer class="foot">
        <p class="quiet">{S.tells}</p>
        <Settings onUnits={() => redraw((n) => n + 1)} />
      </footer>
    </>
  );
}
