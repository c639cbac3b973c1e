// How the browser writes dates, temperatures and volumes: through Intl, in an English that the reader's
// browser asks for, since all texts are English. Values stay as the server gave them.

const english = navigator.languages.find((language) => language.toLowerCase().startsWith('en')) ?? 'en-GB';

const short = new Intl.DateTimeFormat(english, { day: 'numeric', month: 'long', timeZone: 'UTC' });
const withYear = new Intl.DateTimeFormat(english, { day: 'numeric', month: 'long', year: 'numeric', timeZone: 'UTC' });
const withDay = new Intl.DateTimeFormat(english, { weekday: 'long', day: 'numeric', month: 'long', timeZone: 'UTC' });

function toDate(day: string): Date {
  return new Date(`${day}T12:00:00Z`);
}

/** "19 March"; with the year where it is another than that of `today`. */
export function day(on: string, today?: string): string {
  const year = (today ?? new Date().toISOString()).slice(0, 4);
  return (on.slice(0, 4) === year ? short : withYear).format(toDate(on));
}

/** "Saturday 7 March". */
export function dayLong(on: string): string {
  return withDay.format(toDate(on));
}

export type Units = 'metric' | 'us';
const UNITS_KEY = 'fernlock.units';
const usesFahrenheit = new Set(['US', 'BS', 'BZ', 'KY', 'PW', 'FM', 'MH', 'LR']);

export function units(): Units {
  const kept = localStorage.getItem(UNITS_KEY);
  if (kept === 'metric' || kept === 'us') return kept;
  return usesFahrenheit.has(new Intl.Locale(english).region ?? '') ? 'us' : 'metric';
}

export function keepUnits(value: Units): void {
  localStorage.setItem(UNITS_KEY, value);
}

const number = (max: number) => new Intl.NumberFormat(english, { maximumFractionDigits: max });

export function temperature(celsius: number): string {
  return units() === 'us' ? `${number(0).format(celsius * 1.8 + 32)} °F` : `${number(1).format(celsius)} °C`;
}

const US_GAL_L = 3.785411784;

export function volume(litres: number): string {
  return units() === 'us' ? `${number(1).format(litres / US_GAL_L)} US gal` : `${number(1).format(litres)} L`;
}

/** A share for tables: "2.3 %", "0.04 %"; two figures. */
export function percent(share: number): string {
  const pct = 100 * share;
  if (pct < 0.1) return 'under 0.1 %';
  return `${new Intl.NumberFormat(english, { maximumSignificantDigits: 2 }).format(pct)} %`;
}
