// Where plants came from: each source with what it has taught, in a sentence.
import { useAnswer } from '../answer';
import { client } from '../api';
import { Heading, Shown } from '../parts/screen';
import { sources as T } from '../strings/chance.en';
import { tn } from '../strings.en';

export default function SourcesScreen() {
  const answer = useAnswer('sources', () => client.GET('/api/v1/sources', {}));
  return (
    <Shown answer={answer} title={T.title}>
      {({ sources }) => (
        <>
          <div class="head">
            <Heading title={T.title}>{T.title}</Heading>
            <p class="lead">{T.lead}</p>
            {sources[0]?.judgement_text && <p class="note">{sources[0].judgement_text}</p>}
          </div>
          {sources.length === 0 && <p class="quiet">{T.none}</p>}
          <ul class="lines">
            {sources.map((source) => (
              <li key={source.id} class="line">
                <div>
                  <a class="line-link" href={`/sources/${source.code}`}>{source.name}</a>
                  <p class="quiet">{source.kind_text} · {tn(T.purchases, source.purchases_counted)}</p>
                  <p>{source.text}</p>
                </div>
              </li>
            ))}
          </ul>
        </>
      )}
    </Shown>
  );
}
