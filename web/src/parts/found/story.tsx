// The outbreak's story, line by line, to the all-clear or to the day it is expected.
import type { components } from '../../../build/api';
import { day } from '../../format';
import { found as F } from '../../strings/found.en';

type Outbreak = components['schemas']['Outbreak'];

export function Story({ outbreak }: { outbreak: Outbreak }) {
  if (outbreak.story.length === 0) return null;
  return (
    <section aria-labelledby="story">
      <h2 id="story">{F.story}</h2>
      <ol class="record told">
        {outbreak.story.map((line, k) => (
          <li key={k} class={line.is_future ? 'expected' : undefined}>
            <time dateTime={line.on ?? ''}>{line.on ? day(line.on) : ''}</time>
            <div>{line.is_future && <span class="quiet">{F.expected} </span>}{line.text}</div>
          </li>
        ))}
      </ol>
    </section>
  );
}
