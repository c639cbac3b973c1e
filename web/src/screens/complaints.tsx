// Customers' complaints: those on record, and the form that tells a new one.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { day } from '../format';
import { Field, Form, LongField, NumberField, readNumber, SelectField, TextField, type Problems } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { newId } from '../record/event';
import { useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { complaints as C } from '../strings/complaints.en';
import { t } from '../strings.en';

const F = C.form;
type Taker = Schemas['Batches']['takers'][number];

function Tell({ takers, threats, first }: { takers: Taker[]; threats: Schemas['Threats']['threats']; first: string }) {
  const { record, settled } = useRecord();
  const all = takers.flatMap((taker) => taker.leavings.map((left) => ({ ...left, to: taker.place.name })));
  const [lot, setLot] = useState(all.find((one) => one.lot.code === first)?.lot.id ?? '');
  const [threat, setThreat] = useState('');
  const [stage, setStage] = useState('');
  const [noticed, setNoticed] = useState('');
  const [customer, setCustomer] = useState('');
  const [words, setWords] = useState('');
  const [there, setThere] = useState({ hazard: '', looks: '', temp: '' });
  const [isKept, setKept] = useState(false);
  const [problems, setProblems] = useState<Problems>({});
  const chosen = all.find((one) => one.lot.id === lot);
  const pest = threats.find((one) => one.code === threat);

  async function submit() {
    const hazard = readNumber(there.hazard, { least: 0, most: 30 });
    const looks = readNumber(there.looks, { least: 1, most: 365 });
    const temp = readNumber(there.temp, { least: -30, most: 60 });
    const found: Problems = {
      lot: chosen ? undefined : F.lotMissing,
      threat: pest ? undefined : F.threatMissing,
      noticed: !noticed ? F.noticedMissing : chosen && noticed < chosen.on ? t(F.early, { when: day(chosen.on) }) : undefined,
      hazard: hazard.problem, looks: looks.problem, temp: temp.problem,
    };
    setProblems(found);
    if (!chosen || !pest || Object.values(found).some(Boolean)) return found;
    const id = newId();
    const ids = await record(t(F.told, { what: pest.name }), [{
      id, kind: 'complaint_noted', occurredAt: noticed,
      body: { lot: chosen.lot.id, customer: customer.trim(), threat, stage, what: words.trim(), hazard_per_30_days: hazard.value, look_days: looks.value, temp_c: temp.value },
    }]);
    if ((await settled(ids, 4_000)) === 'sent') go(`/complaints/${id}`);
    else setKept(true);
    return undefined;
  }

  return (
    <>
      <Form submit={F.submit} onSubmit={submit}>
        <SelectField label={F.lot} hint={F.lotHint} value={lot} empty={F.choose} problem={problems['lot']} onValue={setLot}
          options={all.map((one) => ({ value: one.lot.id, group: one.to, label: t(F.option, { n: one.count, name: one.lot.name, code: one.lot.code, when: day(one.on) }) }))} />
        <SelectField label={F.threat} value={threat} empty={F.choose} problem={problems['threat']} onValue={(value) => { setThreat(value); setStage(''); }}
          options={threats.map(({ code, name }) => ({ value: code, label: name }))} />
        {pest && pest.stages.length > 0 && (
          <SelectField label={F.stage} isOptional value={stage} empty={F.stageEmpty} onValue={setStage} options={pest.stages.map((one) => ({ value: one, label: one.replace(/_/g, ' ') }))} />
        )}
        <Field label={F.noticed} problem={problems['noticed']}>
          {(ties) => <input type="date" {...ties} value={noticed} onInput={(event) => setNoticed(event.currentTarget.value)} />}
        </Field>
        <TextField label={F.customer} hint={F.customerHint} isOptional value={customer} onValue={setCustomer} />
        <LongField label={F.words} isOptional rows={2} value={words} onValue={setWords} />
        <details>
          <summary>{F.there}</summary>
          <p class="quiet">{F.thereText}</p>
          <NumberField label={F.hazard} hint={F.hazardHint} isOptional problem={problems['hazard']} value={there.hazard} onValue={(hazard) => setThere({ ...there, hazard })} />
          <NumberField label={F.looks} unit={F.days} isOptional problem={problems['looks']} value={there.looks} onValue={(looks) => setThere({ ...there, looks })} />
          <NumberField label={F.temp} unit={F.celsius} isOptional problem={problems['temp']} value={there.temp} onValue={(temp) => setThere({ ...there, temp })} />
        </details>
      </Form>
      {isKept && <p class="note" role="status">{C.kept}</p>}
    </>
  );
}

export default function ComplaintsScreen({ query }: ScreenProps) {
  const answer = useAnswer('complaints', () => client.GET('/api/v1/complaints'));
  const batches = useAnswer('batches', () => client.GET('/api/v1/batches'));
  const threats = useAnswer('threats', () => client.GET('/api/v1/threats'));
  return (
    <Shown answer={answer} title={C.title}>
      {(data) => (
        <div class="column">
          <div class="head">
            <Heading title={C.title}>{C.title}</Heading>
            <p class="lead">{C.lead}</p>
          </div>
          <section aria-labelledby="list">
            <h2 id="list">{C.list}</h2>
            {data.complaints.length === 0 && <p class="quiet">{C.none}</p>}
            <ul class="lines bare">
              {data.complaints.map((one) => (
                <li key={one.id} class="line">
                  <div>
                    <a class="line-link" href={`/complaints/${one.code}`}>{t(C.line, { what: one.name, lot: one.lot?.name ?? '', when: one.noticed_text })}</a>
                    {(one.customer ?? one.what) && <p class="quiet">{[one.customer, one.what].filter(Boolean).join(': ')}</p>}
                  </div>
                </li>
              ))}
            </ul>
          </section>
          <section aria-labelledby="tell">
            <h2 id="tell">{C.tell}</h2>
            {batches.data && threats.data && <Tell takers={batches.data.takers} threats={threats.data.threats} first={query.get('lot') ?? ''} />}
          </section>
        </div>
      )}
    </Shown>
  );
}
