// Texts: a lot on its line of time, and its family.
export const timeline = {
  now: 'In {place} since {date}.',
  nowGone: 'It is here no more.',
  nowhere: 'nowhere that was told',
  places: { one: 'It has stood in {n} place.', other: 'It has stood in {n} places.' },
  looks: { one: 'Looked at on {n} day;', other: 'Looked at on {n} days;' },
  finds: { one: 'something was found on {n} of them.', other: 'something was found on {n} of them.' },
  noFinds: 'nothing was found.',
  legend: { step: 'cleaned or treated', look: 'looked at', find: 'found something' },
  table: 'Where it stood, as a table',
  head: ['Place', 'From', 'Until', 'Looks', 'Evenings', 'Finds'],
  still: 'now',
} as const;

export const lineage = {
  title: 'Its family',
  said: { one: '{n} lot was cut or split from this line.', other: '{n} lots were cut or split from this line.' },
  here: '{lots} of all are here, {plants} plants.',
  line: '{n} in {place}',
  lineGone: '{n}, gone',
  gone: 'gone',
  nowhere: 'nowhere that was told',
  table: 'The family as a table',
  head: ['Lot', 'Since', 'From', 'Plants', 'Where'],
  this: 'this one',
  origins: { lot_arrived: 'came home', lot_already_here: 'here since', lot_cut: 'cut', lot_split: 'split off' },
} as const;
