// Texts: signing in.
export const signIn = {
  title: 'Sign in',
  text: 'This browser has no session with this room.',
  how: 'Open the address that “fernlock serve” prints where it runs. It works once, for a minute; press Enter there to get a new one.',
  working: 'Signing in…',
  refused: 'The address was not taken',
} as const;
