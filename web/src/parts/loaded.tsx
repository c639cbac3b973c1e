// A screen that is loaded when its address is first shown; and the loading of all others afterwards.
import type { ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { screens, type ScreenEntry, type ScreenProps } from '../screens';
import { S } from '../strings.en';
import { Heading } from './screen';

type Part = ComponentType<ScreenProps>;
const ready = new Map<ScreenEntry, Part>();
const LATE_MS = 300;
const WARM_MS = 1_500;

async function load(entry: ScreenEntry): Promise<Part> {
  const part = ready.get(entry) ?? (await entry.load()).default;
  ready.set(entry, part);
  return part;
}

/** Loads the screens that were not shown yet, one after the other; ends at the first that does not come. */
export function warmScreens(): void {
  setTimeout(() => {
    void (async () => {
      try {
        for (const entry of screens) await load(entry);
      } catch {
        // the network is gone: each is asked for again when it is shown
      }
    })();
  }, WARM_MS);
}

/** Loads the page anew, but only when there is someone to load it from. */
async function reload(): Promise<void> {
  try {
    await fetch('/', { cache: 'no-store' });
    location.reload();
  } catch {
    // still gone: what is shown stays
  }
}

export function Loaded({ entry, ...props }: { entry: ScreenEntry } & ScreenProps) {
  const [state, setState] = useState<{ entry: ScreenEntry; failed?: boolean; isLate?: boolean }>({ entry });
  const part = ready.get(entry);
  useEffect(() => {
    if (ready.has(entry)) return;
    setState({ entry });
    const late = setTimeout(() => setState({ entry, isLate: true }), LATE_MS);
    void load(entry).then(
      () => setState({ entry }),
      () => setState({ entry, failed: true }),
    ).finally(() => clearTimeout(late));
    return () => clearTimeout(late);
  }, [entry]);
  if (part) {
    const Shown = part;
    return <Shown key={entry.path + JSON.stringify(props.params)} {...props} />;
  }
  if (state.failed && state.entry === entry) {
    return (
      <>
        <Heading key="failed" title={S.failed}>{S.failed}</Heading>
        <div class="trouble" role="alert">
          <p><b>{S.unreachable}</b></p>
          <p>{S.newer}</p>
          <button type="button" onClick={() => void reload()}>{S.again}</button>
        </div>
      </>
    );
  }
  return (
    <>
      <Heading key={entry.path} title={entry.title} isWaiting>{entry.title}</Heading>
      <p class="quiet" role="status">{state.isLate ? S.loading : ''}</p>
    </>
  );
}
