// Addresses: each screen has its own, links are links, Back works.
import { useEffect, useState } from 'preact/hooks';

const listeners = new Set<() => void>();

function tellAll(): void {
  for (const tell of listeners) tell();
}

// A change of screen takes the focus to its heading; the first load leaves it where the browser has it. The
// heading that stands while data is awaited gives it on to the one that comes after, unless the reader has
// gone elsewhere meanwhile.
let isFollowing = false;

export function focusHeading(heading: HTMLElement, isWaiting: boolean): void {
  if (!isFollowing) return;
  const isFree = isWaiting || document.activeElement === null || document.activeElement === document.body;
  if (isFree) heading.focus({ preventScroll: true });
  if (!isWaiting) isFollowing = false;
}

/** Shows another address: a path, with its query if it has one. */
export function go(path: string): void {
  if (path !== location.pathname + location.search) history.pushState(null, '', path);
  window.scrollTo(0, 0);
  isFollowing = true;
  tellAll();
}

/** The address that is shown: path and query. */
export function usePath(): string {
  const [path, setPath] = useState(location.pathname + location.search);
  useEffect(() => {
    const tell = () => setPath(location.pathname + location.search);
    listeners.add(tell);
    return () => {
      listeners.delete(tell);
    };
  }, []);
  return path;
}

function isOurs(event: MouseEvent, link: HTMLAnchorElement): boolean {
  return (
    event.button === 0 &&
    !event.metaKey && !event.ctrlKey && !event.shiftKey && !event.altKey &&
    link.origin === location.origin &&
    !link.hasAttribute('download') &&
    (link.target === '' || link.target === '_self') &&
    !link.pathname.startsWith('/api/') &&
    !link.pathname.startsWith('/problems/') &&
    !/^\/l\//i.test(link.pathname) && // a label's code: the server leads on
    !(link.hash !== '' && link.pathname === location.pathname)
  );
}

/** Takes over clicks on links of our own, so that a screen changes without loading the page anew. */
export function startRouter(): void {
  window.addEventListener('popstate', () => {
    isFollowing = true;
    tellAll();
  });
  document.addEventListener('click', (event) => {
    const link = event.target instanceof Element ? event.target.closest('a') : null;
    if (link && !event.defaultPrevented && isOurs(event, link)) {
      event.preventDefault();
      go(link.pathname + link.search);
    }
  });
}

export const paths = {
  today: '/',
  lots: '/lots',
  lot: (code: string) => `/lots/${encodeURIComponent(code)}`,
  gate: (code: string, use: string) => `/lots/${encodeURIComponent(code)}/gate/${use}`,
  places: '/places',
  place: (code: string) => `/places/${encodeURIComponent(code)}`,
};
