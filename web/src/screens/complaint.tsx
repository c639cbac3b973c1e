// One complaint: did it come along, what that rests on, what now, who else.
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { Reached } from '../parts/found/reached';
import { Back } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { Scale, Strip } from '../parts/strip';
import { once, useRecord } from '../record/use';
import { go, paths } from '../router';
import type { ScreenProps } from '../screens';
import { complaints as C } from '../strings/complaints.en';
import { t } from '../strings.en';

type Complaint = Schemas['Complaint'];

function Chance({ prob, least, most, text }: { prob: number | null; least: number | null; most: number | null; text: string }) {
  return (
    <>
      <p>{text}</p>
      {prob !== null && <Strip chance={{ prob, prob_least: least ?? prob, prob_most: most ?? prob, text }} />}
    </>
  );
}

function Whole({ data }: { data: Complaint }) {
  const { record } = useRecord();
  const what = t(C.heading, { what: data.said.name, lot: data.left.lot.name });
  const undo = once(() => {
    void record(t(C.undone, { what }), [{ kind: 'event_voided', body: { event: data.said.id } }]);
    go('/complaints');
  });
  return (
    <div class="column">
      <Back to="/complaints">{C.back}</Back>
      <div class="head">
        <p class="kicker">{t(C.kicker, { who: data.customer, when: data.said.noticed_text })}</p>
        <Heading title={what}>{what}</Heading>
        {data.said.what && <p class="quiet">{data.said.what}</p>}
      </div>
      <section aria-labelledby="answer">
        <h2 id="answer">{C.answer}</h2>
        <Chance prob={data.prob_came_along} least={data.prob_came_along_least} most={data.prob_came_along_most} text={data.text} />
        {data.prob_came_along !== null && <Scale />}
      </section>
      <section aria-labelledby="next">
        <h2 id="next">{C.next}</h2>
        <ol class="steps">{data.next.map((one) => <li key={one}>{one}</li>)}</ol>
      </section>
      <section aria-labelledby="basis">
        <h2 id="basis">{C.basis}</h2>
        <p><a href={paths.lot(data.left.lot.code)}>{data.left.lot.name}, {data.left.lot.code}</a></p>
        <Chance prob={data.prob_left_with} least={data.prob_left_with_least} most={data.prob_left_with_most} text={data.left_text} />
        <p>{data.there_text}</p>
        <p class="note">{C.judgement}</p>
      </section>
      {data.others.length > 0 && (
        <section aria-labelledby="others">
          <h2 id="others">{C.others}</h2>
          <ul class="lines bare">
            {data.others.map((one) => (
              <li key={one.lot.id} class="line">
                <div>
                  <b>{one.to?.name}</b>
                  <p><a href={paths.lot(one.lot.code)}>{t(C.othersLine, { n: one.count, lot: one.lot.name, when: one.when_text })}</a></p>
                </div>
              </li>
            ))}
          </ul>
        </section>
      )}
      <Reached trace={{ ...data.trace, reached: data.trace.reached.filter((one) => one.lot.id !== data.left.lot.id) }} />
      <p class="acts"><a href={`/api/v1/print/complaint?of=${data.said.code}`} download>{C.paper}</a></p>
      <p><button type="button" class="bare-button" onClick={undo}>{C.undo}</button></p>
    </div>
  );
}

export default function ComplaintScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer(`complaint ${id}`, () => client.GET('/api/v1/complaints/{id}', { params: { path: { id } } }));
  return <Shown answer={answer} title={C.title}>{(data) => <Whole data={data} />}</Shown>;
}
