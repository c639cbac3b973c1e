// The drawings of data/figures, put together by scripts/figures.mjs.
declare module 'figures' {
  const figures: Readonly<Record<string, readonly (readonly [string, Readonly<Record<string, string>>])[]>>;
  export default figures;
}
