// The frame of every screen: skip link, pages, the screen of the address, settings.
import { useEffect, useState } from 'preact/hooks';
import type { Trouble } from './api';
import { keepUnits, units, type Units } from './format';
import { paths, usePath } from './router';
import { SignIn } from './screens/signin';
import { GateScreen } from './screens/gate';
import { LotScreen } from './screens/lot';
import { LotsScreen } from './screens/lots';
import { NotFound } from './screens/notfound';
import { PlaceScreen } from './screens/place';
import { PlacesScreen } from './screens/places';
import { TodayScreen } from './screens/today';
import { signIn } from './session';
import { Hatching } from './parts/strip';
import { S } from './strings.en';
import { applyTheme, theme, type Theme } from './theme';

function screenOf(path: string) {
  const part = path.split('/').filter(Boolean).map(decodeURIComponent);
  const [area, id, more, use] = part;
  if (part.length === 0) return <TodayScreen />;
  if (area === 'lots' && part.length === 1) return <LotsScreen />;
  if (area === 'lots' && id && part.length === 2) return <LotScreen key={id} id={id} />;
  if (area === 'lots' && id && more === 'gate' && part.length <= 4) return <GateScreen key={id} id={id} use={use ?? ''} />;
  if (area === 'places' && part.length === 1) return <PlacesScreen />;
  if (area === 'places' && id && part.length === 2) return <PlaceScreen key={id} id={id} />;
  return <NotFound />;
}

function Pages({ path }: { path: string }) {
  const items = [
    [paths.today, S.nav.today],
    [paths.lots, S.nav.lots],
    [paths.places, S.nav.places],
  ] as const;
  const isHere = (to: string) => (to === '/' ? path === '/' : path === to || path.startsWith(`${to}/`));
  return (
    <nav class="pages" aria-label={S.navLabel}>
      <ul>
        {items.map(([to, name]) => (
          <li key={to}>
            <a href={to} aria-current={path === to ? 'page' : isHere(to) ? 'true' : undefined}>
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
  const path = usePath();
  const [entry, setEntry] = useState<Entry>({ is: signInKey ? 'trying' : 'in' });
  const [, redraw] = useState(0);

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
        {entry.is === 'in' && screenOf(path)}
        {entry.is === 'trying' && <p class="quiet">{S.signIn.working}</p>}
        {entry.is === 'refused' && <SignIn trouble={entry.trouble} />}
      </main>
      <footer class="foot">
        <p class="quiet">{S.readsOnly}</p>
        <Settings onUnits={() => redraw((n) => n + 1)} />
      </footer>
    </>
  );
}
