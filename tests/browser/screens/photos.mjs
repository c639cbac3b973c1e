// The pages of photos, for the sweep of screens.test.mjs. Photos themselves: photos.test.mjs.
export const screens = {
  photos: () => '/photos',
  'a photo that is not there': () => '/photos/00000000-0000-4000-8000-000000000000',
};
