// Every text of the interface that does not come with an answer: one file an area in strings/. Those of the
// first pages are put together here as S; an area that is loaded later imports its own file. Texts of
// answers are made in one place, src/view/words.c, so that the browser, the command line and paper say the
// same.
import { frame } from './strings/frame.en';
import { gate } from './strings/gate.en';
import { lot } from './strings/lot.en';
import { lots } from './strings/lots.en';
import { pages } from './strings/pages.en';
import { place } from './strings/place.en';
import { places } from './strings/places.en';
import { recording } from './strings/recording.en';
import { signIn } from './strings/signin.en';
import { today } from './strings/today.en';

export const S = { ...frame, gate, lot, lots, pages, place, places, recording, signIn, today } as const;

const plurals = new Intl.PluralRules('en');

/** Puts values into the braces of a text: t(S.lot.kicker, { code }). */
export function t(text: string, values: Record<string, string | number>): string {
  return text.replace(/\{(\w+)\}/g, (whole, key: string) => (key in values ? String(values[key]) : whole));
}

/** The same with the form for a number: tn(S.lots.kicker, 3). */
export function tn(forms: { one: string; other: string }, n: number): string {
  return t(plurals.select(n) === 'one' ? forms.one : forms.other, { n });
}
