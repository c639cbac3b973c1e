// Texts: signing in.
export const signIn = {
  title: 'Sign in',
  text: 'This browser has no session with this room.',
  computer: 'On the computer where fernlock runs',
  how: 'Open the address that “fernlock serve” prints. It works once, for a minute; press Enter there to get a new one.',
  phone: 'On a phone',
  phoneHow: 'On the computer, open “A phone beside the sink” under “All pages”. It shows a code to scan, and six digits to type instead.',
  phoneLink: 'Type the six digits',
  kept: 'Where you wanted to go is kept, and opened afterwards.',
  working: 'Signing in…',
  refused: 'The address was not taken',
} as const;
