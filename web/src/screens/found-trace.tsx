// Tracing without a find: a pest on a lot or in a place; or a pesticide that came to light.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, PLAIN } from '../api';
import type { components } from '../../build/api';
import { SelectField } from '../parts/form';
import { Proposals } from '../parts/found/proposals';
import { Reached } from '../parts/found/reached';
import { Sources } from '../parts/found/sources';
import { Heading, TroubleBox } from '../parts/screen';
import { go, paths } from '../router';
import type { ScreenProps } from '../screens';
import { SignIn } from './signin';
import { found as F } from '../strings/found.en';

type Traced = components['schemas']['Traced'];

function Residue({ residue }: { residue: NonNullable<Traced['residue']> }) {
  return (
    <>
      <p class="lead">{residue.text}</p>
      <section aria-labelledby="who">
        <h2 id="who">{F.residueWho}</h2>
        <ul class="candidates">
          {residue.lots.map(({ lot, text, is_with_animals: isWith, is_ok_for_use: isOk }) => (
            <li key={lot.id}>
              <p><b><a href={paths.lot(lot.code)}>{lot.name}, {lot.code}</a></b></p>
              <p class={isWith && !isOk ? 'found' : undefined}>{text}</p>
            </li>
          ))}
        </ul>
      </section>
      <Proposals proposals={residue.proposals} />
    </>
  );
}

function Result({ of, threat }: { of: string; threat: string }) {
  const answer = useAnswer(`trace ${of} ${threat}`, () => client.GET('/api/v1/trace', { params: { query: { of, ...(threat ? { threat } : {}) } } }));
  if (answer.trouble?.status === 401) return <SignIn />;
  if (answer.trouble) return <TroubleBox trouble={answer.trouble} again={answer.again} />;
  if (!answer.data) return null;
  const { outbreak, trace, residue } = answer.data;
  const shown = trace ?? outbreak?.trace;
  return (
    <>
      {residue && <Residue residue={residue} />}
      {outbreak?.trace?.subject.finding_id && <p><a class="button" href={`/found/${outbreak.trace.subject.finding_id}`}>{outbreak.state_text}</a></p>}
      {shown && (
        <div class="two">
          <Sources trace={shown} />
          <Reached trace={shown} />
        </div>
      )}
    </>
  );
}

export default function TraceScreen({ query }: ScreenProps) {
  const of = query.get('of') ?? '';
  const threat = query.get('threat') ?? '';
  const [chosen, setChosen] = useState(of);
  const [pest, setPest] = useState(threat);
  const places = useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));
  const lots = useAnswer('lots plain', () => client.GET('/api/v1/lots', PLAIN));
  const threats = useAnswer('threats', () => client.GET('/api/v1/threats'));
  const things = [
    ...(lots.data?.lots ?? []).map((one) => ({ value: one.code, label: `${one.name}, ${one.code}`, group: F.traceLots })),
    ...(places.data?.places ?? []).filter((one) => one.kind !== 'outside').map((one) => ({ value: one.code, label: one.name, group: F.tracePlaces })),
  ];
  return (
    <>
      <div class="head">
        <Heading title={F.trace}>{F.trace}</Heading>
        <p class="lead">{F.traceText}</p>
      </div>
      <form
        class="form"
        onSubmit={(event) => {
          event.preventDefault();
          if (chosen) go(`/found/trace?of=${encodeURIComponent(chosen)}${pest ? `&threat=${encodeURIComponent(pest)}` : ''}`);
        }}
      >
        <div class="field-row">
          <SelectField label={F.traceOf} value={chosen} empty={F.placeEmpty} onValue={setChosen} options={things} />
          <SelectField label={F.traceThreat} value={pest} empty={F.traceThreatEmpty} onValue={setPest} options={(threats.data?.threats ?? []).map(({ code, name }) => ({ value: code, label: name }))} />
        </div>
        <button type="submit" class="main-act">{F.traceDo}</button>
      </form>
      {of && <Result key={`${of} ${threat}`} of={of} threat={threat} />}
    </>
  );
}
