// What is due: five lines or fewer.
import { useAnswer } from '../answer';
import { client, PLAIN, type Due, type Today } from '../api';
import { day, dayLong } from '../format';
import { DueMark } from '../parts/marks';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import { S, t, tn } from '../strings.en';

/** Where a line leads: its place, its lot, or the list when it is about several. */
function target(due: Due): string {
  if (due.kind === 'prep' && due.arrival_id) return `/tonight/${due.arrival_id}`;
  if (due.kind === 'place') return '/put';
  if (due.kind === 'claim') return '/triage';
  if (due.kind === 'look' && due.places > 1) return '/round';
  if (due.places > 1) return paths.places;
  if (due.lots > 1) return paths.lots;
  if (due.place) return paths.place(due.place.code);
  if (due.lot) return paths.lot(due.lot.code);
  return paths.lots;
}

/** Kinds whose line does not say already what the kind is. */
const EXPLAINED = new Set<Due['kind']>(['hold', 'upkeep', 'conflict']);

function DueLine({ due }: { due: Due }) {
  return (
    <li class="line">
      <DueMark kind={due.kind} />
      <div>
        <a class="line-link" href={target(due)}>{due.text}</a>
        <p class="quiet">{due.when_text}{EXPLAINED.has(due.kind) && ` · ${due.kind_text}`}</p>
      </div>
    </li>
  );
}

function List({ today }: { today: Today }) {
  return (
    <>
      {today.lines.length === 0 && (
        <div class="empty">
          <p class="lead">{S.today.empty}</p>
          <p class="quiet">{S.today.emptyText}</p>
          <p><a class="button main-act" href="/arrive">{S.today.begin}</a></p>
        </div>
      )}
      <ol class="lines">
        {today.lines.map((due) => (
          <DueLine key={due.kind + (due.place?.id ?? '') + (due.lot?.id ?? '')} due={due} />
        ))}
      </ol>
      <p class="quiet">
        {today.more > 0 && `${tn(S.today.more, today.more)} `}
        {today.next_on ? t(S.today.next, { date: day(today.next_on, today.today_on) }) : S.today.noNext}{' '}
        {tn(S.today.quarantine, today.lots_in_quarantine)}
      </p>
    </>
  );
}

export default function TodayScreen() {
  const plain = useAnswer('today plain', () => client.GET('/api/v1/today', PLAIN));
  const whole = useAnswer('today', () => client.GET('/api/v1/today'));
  const answer = whole.data || !plain.data ? whole : { ...plain, trouble: whole.trouble ?? plain.trouble };
  return (
    <Shown answer={answer} title={S.today.title}>
      {(today) => (
        <div class="column">
          <p class="kicker">{dayLong(today.today_on)} · {today.room_name}</p>
          <Heading title={S.today.title}>{S.today.title}</Heading>
          {today.backup_text && <p class="note">{today.backup_text}</p>}
          <List today={today} />
          {!whole.data && <p role="status" class="quiet">{whole.isLate ? S.few.asking : ''}</p>}
          <p class="ask"><a href="/found">{S.pages.found.name}</a></p>
        </div>
      )}
    </Shown>
  );
}
