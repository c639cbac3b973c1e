// The five lines that come before any question.
import { found as F } from '../../strings/found.en';

export function First({ lines }: { lines: readonly string[] }) {
  return (
    <ol class="first" aria-label={F.firstLabel}>
      {lines.map((line) => <li key={line}>{line}</li>)}
    </ol>
  );
}
