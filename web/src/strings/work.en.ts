// Texts: how far long work is. What is being done comes with the answer (src/base/progress.h).
export const work = {
  of: '{done} of {total} {unit}',
  ofNothing: '{done} of {total}',
  waiting: 'it waits for its turn',
  cancel: 'Cancel',
  cancelling: 'being cancelled',
  cancelled: 'Cancelled. Nothing was changed.',
  page: 'This page is being worked out',
} as const;
