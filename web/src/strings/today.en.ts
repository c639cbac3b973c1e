// Texts: today.
export const today = {
  title: 'Today',
  empty: 'Nothing is due.',
  begin: 'Something came home',
  emptyText: 'This list shows what to clean, place, look at and release. It is never longer than five lines.',
  more: { one: '{n} more line waits behind these.', other: '{n} more lines wait behind these.' },
  next: 'The next thing falls due on {date}.',
  noNext: 'Nothing is ahead.',
  quarantine: { one: '{n} lot is in quarantine.', other: '{n} lots are in quarantine.' },
  pace: 'The room’s pace',
} as const;
