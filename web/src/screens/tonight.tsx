// Tonight: what to do with the lots of one arrival, and how long it may take until they can go.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Lot, type Trouble, PLAIN } from '../api';
import { EveningPlan } from '../parts/plan';
import { Heading, Shown } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { tell as T } from '../strings/tell.en';
import { triage as D } from '../strings/triage.en';
import { S, t, tn } from '../strings.en';

const N = T.tonight;
const WORST = 3;

interface Reply { data?: Lot[]; error?: unknown; response: Response }

/** The lots of the arrival, whole: the list first, then each. */
async function askArrival(arrival: string): Promise<Reply> {
  const list = await client.GET('/api/v1/lots', PLAIN);
  if (!list.data) return { error: list.error, response: list.response };
  const whole: Lot[] = [];
  for (const brief of list.data.lots.filter((lot) => lot.arrival_id === arrival)) {
    const one = await client.GET('/api/v1/lots/{id}', { params: { path: { id: brief.id } } });
    if (!one.data) return { error: one.error, response: one.response };
    whole.push(one.data);
  }
  return { data: whole, response: list.response };
}

function worstOf(lot: Lot): string {
  return lot.chances
    .filter((chance) => !chance.is_out_of_reach)
    .slice(0, WORST)
    .map((chance) => `${chance.plural}, ${chance.chance_text}`)
    .join('; ');
}

function LotTonight({ lot }: { lot: Lot }) {
  const { gate } = lot;
  return (
    <section class="tonight-lot" aria-labelledby={`lot-${lot.code}`}>
      <h2 id={`lot-${lot.code}`}><a href={paths.lot(lot.code)}>{lot.name}</a>, {tn(S.lot.plants, lot.count)}</h2>
      <p>{t(N.worst, { list: worstOf(lot) })}</p>
      {gate && <p class="lead">{gate.answer_text}</p>}
      <EveningPlan plan={lot.plan} isDone={lot.phase !== 'arrived'} name={lot.name} />
    </section>
  );
}

/** The planned steps of all lots as they were planned. */
function stepsOf(lots: Lot[]) {
  return lots.flatMap((lot) =>
    lot.plan.steps.flatMap((step) =>
      Array.from({ length: Math.max(step.times, 1) }, () => ({
        lots: [lot.id],
        step: step.step,
        agent: step.agent === 'none' ? undefined : step.agent,
        minutes: step.minutes_low > 0 ? step.minutes_low : undefined,
      })),
    ),
  );
}

function Evening({ lots }: { lots: Lot[] }) {
  const { record } = useRecord();
  const [isTold, setTold] = useState(false);
  const open = lots.filter((lot) => lot.phase === 'arrived' && lot.plan.steps.length > 0 && lot.plan.verdict === 'go');
  const homeless = lots.filter((lot) => lot.phase === 'cleaned' || lot.phase === 'arrived');
  const all = once(() => {
    setTold(true);
    void record(tn(N.allTold, open.length), [{ kind: 'step_done', body: { steps: stepsOf(open) } }]);
  });
  return (
    <>
      <p><a class="button" href={`/triage?lots=${lots.map((lot) => lot.code).join(',')}`}>{D.link}</a></p>
      {lots.map((lot) => <LotTonight key={lot.id} lot={lot} />)}
      <div class="acts">
        {open.length > 0 && !isTold && (
          <>
            <button type="button" class="main-act" onClick={all}>{N.all}</button>
            <p class="quiet">{N.allHint}</p>
          </>
        )}
        {homeless.length > 0 && (open.length === 0 || isTold) && (
          <>
            <p>{N.done}</p>
            <a class="button" href={`/put?lots=${homeless.map((lot) => lot.code).join(',')}`}>{N.put}</a>
          </>
        )}
      </div>
    </>
  );
}

export default function TonightScreen({ params: { arrival = '' } }: ScreenProps) {
  const { waiting } = useRecord();
  const answer = useAnswer(`tonight ${arrival}`, () => askArrival(arrival));
  const isWaiting = waiting.some((item) => item.event.body['arrival'] === arrival);
  return (
    <Shown answer={answer as typeof answer & { trouble: Trouble | undefined }} title={N.title}>
      {(lots) => (
        <div class="column">
          <Heading title={N.title}>{N.title}</Heading>
          <p class="lead">{N.lead}</p>
          {lots.length === 0 ? <p role={isWaiting ? 'status' : undefined}>{isWaiting ? N.waiting : N.none}</p> : <Evening lots={lots} />}
        </div>
      )}
    </Shown>
  );
}
