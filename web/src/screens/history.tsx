// What was recorded, the newest first; each can be undone, and what was undone can be done again.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client } from '../api';
import type { components } from '../../build/api';
import { Back } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { device } from '../record/event';
import { once, useRecord } from '../record/use';
import type { ScreenProps } from '../screens';
import { useIsDevice } from '../session';
import { tell as T } from '../strings/tell.en';
import { S, t } from '../strings.en';

const H = T.history;
const FEW = 60;
const MANY = 500;
type Entry = components['schemas']['History']['events'][number];

function Line({ entry }: { entry: Entry }) {
  const { record } = useRecord();
  const isDevice = useIsDevice();
  const isOurs = !isDevice || entry.device === device(); // a phone takes back what it recorded itself
  const target = !isOurs ? undefined : entry.is_voided ? entry.voided_by : entry.id;
  const act = once(() => {
    if (target) void record(entry.text, [{ kind: 'event_voided', body: { event: target } }]);
  });
  return (
    <li class={entry.is_voided ? 'is-undone' : ''}>
      <time dateTime={entry.on}>{entry.date_text}</time>
      <div>
        <b>{entry.text.charAt(0).toUpperCase() + entry.text.slice(1)}</b>
        {entry.is_voided && <span class="state">{H.undone}</span>}
        {entry.device && <p class="quiet">{t(H.by, { device: entry.device })}</p>}
        {target && (
          <button type="button" class="bare-button" onClick={act}>
            {entry.is_voided ? S.recording.redo : S.recording.undo}<span class="hidden">: {entry.text}</span>
          </button>
        )}
      </div>
    </li>
  );
}

export default function HistoryScreen({ query }: ScreenProps) {
  const [limit, setLimit] = useState(FEW);
  const lot = query.get('lot') ?? undefined;
  const place = query.get('place') ?? undefined;
  const answer = useAnswer(`history ${lot} ${place} ${limit}`, () =>
    client.GET('/api/v1/history', { params: { query: { limit, ...(lot ? { lot } : {}), ...(place ? { place } : {}) } } }),
  );
  return (
    <Shown answer={answer} title={H.title}>
      {({ events, is_more }) => (
        <div class="column">
          {lot && <Back to={`/lots/${lot}`}>{lot}</Back>}
          {place && <Back to={`/places/${place}`}>{place}</Back>}
          <Heading title={H.title}>{H.title}</Heading>
          <p class="lead">{H.lead}</p>
          {events.length === 0 && <p class="quiet">{H.none}</p>}
          <ol class="record">{events.map((entry) => <Line key={entry.id} entry={entry} />)}</ol>
          {is_more && limit < MANY && <button type="button" onClick={() => setLimit(MANY)}>{H.more}</button>}
        </div>
      )}
    </Shown>
  );
}
