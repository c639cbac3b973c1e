// A line drawing of what a keeper may have in front of them, in the page's colours. It shows what tells it,
// not its size; the words beside it say the rest, so screen readers pass over it.
import { createElement } from 'preact';
import figures from 'figures';

export function Figure({ code }: { code: string }) {
  return (
    <svg class="drawing" viewBox="0 0 96 96" aria-hidden="true" focusable="false">
      {(figures[code] ?? []).map(([tag, attributes], k) => createElement(tag, { ...attributes, key: k }))}
    </svg>
  );
}
