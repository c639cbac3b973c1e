// Texts: the list of lots.
export const lots = {
  title: 'Lots',
  kicker: { one: '{n} lot', other: '{n} lots' },
  find: 'Find by name, code or place',
  findHint: 'Enter opens the lot when only one fits.',
  worst: 'worst: {pest}, {chance}',
  none: 'No lot fits “{text}”.',
  empty: 'There are no lots yet.',
  emptyText: 'A lot is plants of one kind from one source that came home together. Tell of an arrival, or of what is already here, under Record.',
  group: {
    arrived: 'At the sink',
    cleaned: 'Cleaned, without a bin',
    held: 'On hold',
    quarantine: 'In quarantine',
    established: 'Established',
    gone: 'Gone',
  },
} as const;
