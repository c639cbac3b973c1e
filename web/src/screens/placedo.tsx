// What happened to one place: cleaned, a card, a hold set or lifted, a pest lived with.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Place } from '../api';
import type { components } from '../../build/api';
import { CheckField, ChoiceField, Field, Form, SelectField, TextField, WhenField, type Problems } from '../parts/form';
import { Back, useNames } from '../parts/pick';
import { PlaceForm } from '../parts/placeform';
import { Heading, Shown } from '../parts/screen';
import { newId, type Draft } from '../record/event';
import { useRecord } from '../record/use';
import { day } from '../format';
import { go, paths } from '../router';
import type { ScreenProps } from '../screens';
import { NotFound } from './notfound';
import { tell as T } from '../strings/tell.en';
import { S, t } from '../strings.en';

const P = T.place;
type Names = components['schemas']['Names'];
interface Part { place: Place; names: Names }

function useTell(place: Place): (what: string, draft: Draft) => Promise<Problems> {
  const { record } = useRecord();
  return async (what, draft) => {
    await record(what, [draft]);
    go(paths.place(place.code));
    return {};
  };
}

const options = (list: { word: string; text: string }[]) => list.map(({ word, text }) => ({ value: word, label: text }));
const at = (when: string) => (when ? { occurredAt: when } : {});

function Clean({ place, names }: Part) {
  const tell = useTell(place);
  const [agent, setAgent] = useState('none');
  const [when, setWhen] = useState('');
  const list = names.words.agent.filter(({ word }) => ['none', 'bleach', 'peroxide', 'hot_water', 'soap'].includes(word));
  return (
    <Form onSubmit={() => tell(t(P.clean.told, { place: place.name }), { kind: 'place_cleaned', ...at(when), body: { place: place.id, agent: agent === 'none' ? undefined : agent } })}>
      <p class="quiet">{P.clean.hint}</p>
      <ChoiceField label={P.clean.agent} value={agent} onValue={setAgent} options={options(list)} />
      <WhenField value={when} onValue={setWhen} />
    </Form>
  );
}

function Card({ place, names }: Part) {
  const tell = useTell(place);
  const [device, setDevice] = useState('yellow_card');
  const [isAway, setAway] = useState(false);
  const text = names.words.device.find(({ word }) => word === device)?.text ?? device;
  return (
    <Form onSubmit={() => tell(t(isAway ? P.card.toldAway : P.card.told, { device: text, place: place.name }), { kind: 'card_set', body: { place: place.id, device, is_taken_away: isAway || undefined } })}>
      <ChoiceField label={P.card.device} value={device} onValue={setDevice} options={options(names.words.device)} />
      <CheckField label={P.card.away} isChecked={isAway} onChecked={setAway} />
    </Form>
  );
}

function Hold({ place }: Part) {
  const tell = useTell(place);
  const [why, setWhy] = useState('');
  return (
    <Form onSubmit={() => tell(t(P.hold.told, { place: place.name }), { kind: 'hold_set', body: { hold: newId(), place: place.id, why: why.trim() } })}>
      <TextField label={P.hold.why} isOptional value={why} onValue={setWhy} />
    </Form>
  );
}

function Lift({ place }: Part) {
  const tell = useTell(place);
  const holds = place.holds.filter((hold) => hold.is_now);
  const [hold, setHold] = useState(holds[0]?.id ?? '');
  const [why, setWhy] = useState('');
  if (holds.length === 0) return <p>{P.lift.none}</p>;
  return (
    <Form onSubmit={() => tell(t(P.lift.told, { place: place.name }), { kind: 'hold_lifted', body: { hold, why: why.trim() } })}>
      <ChoiceField label={P.lift.which} value={hold} onValue={setHold} options={holds.map((one) => ({ value: one.id, label: one.why ?? one.cause_text, about: day(one.from_on) }))} />
      <TextField label={P.lift.why} isOptional value={why} onValue={setWhy} />
    </Form>
  );
}

function Tolerate({ place, names }: Part) {
  const tell = useTell(place);
  const pests = names.threats.filter((one) => one.class !== 'pathogen');
  const [threat, setThreat] = useState(pests[0]?.threat ?? '');
  const [isOver, setOver] = useState(false);
  const pest = pests.find((one) => one.threat === threat)?.plural ?? threat;
  return (
    <Form onSubmit={() => tell(t(isOver ? P.tolerate.toldNot : P.tolerate.told, { pest, place: place.name }), { kind: 'tolerated_set', body: { place: place.id, threat, is_tolerated: !isOver } })}>
      <p class="quiet">{P.tolerate.hint}</p>
      <SelectField label={P.tolerate.threat} value={threat} onValue={setThreat} options={pests.map((one) => ({ value: one.threat, label: one.plural }))} />
      <CheckField label={P.tolerate.no} isChecked={isOver} onChecked={setOver} />
    </Form>
  );
}

/** Animals that were let live with what may carry a residue: how they fared, since when. */
function Trial({ place }: Part) {
  const tell = useTell(place);
  const [how, setHow] = useState<'trial_lived' | 'trial_died'>('trial_lived');
  const [animal, setAnimal] = useState('');
  const [since, setSince] = useState('');
  const [problem, setProblem] = useState<string>();
  return (
    <Form
      onSubmit={() => {
        const bad = since ? undefined : P.trial.missing;
        setProblem(bad);
        if (bad) return { since: bad };
        return tell(t(P.trial.told, { how: P.trial.hows[how].toLowerCase(), place: place.name }), {
          kind: 'animal_noted', body: { place: place.id, what: how, animal: animal.trim(), sampled_at: since },
        });
      }}
    >
      <p class="quiet">{P.trial.hint}</p>
      <ChoiceField label={P.trial.how} value={how} onValue={setHow} options={(['trial_lived', 'trial_died'] as const).map((value) => ({ value, label: P.trial.hows[value] }))} />
      <TextField label={P.trial.animal} isOptional value={animal} onValue={setAnimal} />
      <Field label={P.trial.since} problem={problem}>{(ties) => <input type="date" {...ties} value={since} onInput={(event) => setSince(event.currentTarget.value)} />}</Field>
    </Form>
  );
}

function Change({ place, names }: Part) {
  return <PlaceForm names={names} old={place} />;
}

const FORMS = { clean: Clean, card: Card, hold: Hold, lift: Lift, tolerate: Tolerate, trial: Trial, change: Change } as const;
export type PlaceAct = keyof typeof FORMS;

export default function PlaceDoScreen({ params: { id = '', what = '' } }: ScreenProps) {
  const place = useAnswer(`place ${id}`, () => client.GET('/api/v1/places/{id}', { params: { path: { id } } }));
  const names = useNames();
  if (!(what in FORMS)) return <NotFound />;
  const act = what as PlaceAct;
  const Part = FORMS[act];
  return (
    <Shown answer={place} title={P[act].link}>
      {(one) => {
        const title = t(P[act].title, { place: one.name });
        return (
          <div class="column">
            <Back to={paths.place(one.code)}>{one.name}</Back>
            <Heading title={title}>{title}</Heading>
            {names.data ? <Part place={one} names={names.data} /> : <p role="status" class="quiet">{S.loading}</p>}
          </div>
        );
      }}
    </Shown>
  );
}
