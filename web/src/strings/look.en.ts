// Texts: telling of a look.
export const look = {
  here: 'You are looking at it',
  effort: 'How',
  efforts: { glance: 'A glance', careful: 'Careful', roots: 'Roots' },
  effortAbout: {
    glance: 'lid open, what strikes the eye',
    careful: 'leaf undersides, axils, mix surface',
    roots: 'unpotted, or through a clear pot',
  },
  nothing: 'Nothing found',
  something: 'Something found',
  toldNothing: '{place} looked at, nothing found',
} as const;
