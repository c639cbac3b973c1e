// An animal is ill, has died, or was tested: what to do first, a vet, and the record that starts the trace.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, PLAIN } from '../api';
import { First } from '../parts/found/first';
import { ChoiceField, Field, Form, SelectField, TextField, type Problems } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { newId } from '../record/event';
import { useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { found as F } from '../strings/found.en';
import { t } from '../strings.en';

type What = keyof typeof F.animalKinds;
type Threat = keyof typeof F.animalThreats;
type Result = keyof typeof F.animalResults;

const optionsOf = <T extends string>(words: Readonly<Record<T, string>>) => (Object.entries(words) as [T, string][]).map(([value, label]) => ({ value, label }));

function Tell({ at }: { at: string }) {
  const places = useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));
  const { record, settled } = useRecord();
  const [place, setPlace] = useState(at);
  const [what, setWhat] = useState<What | ''>('');
  const [animal, setAnimal] = useState('');
  const [threat, setThreat] = useState<Threat | ''>('');
  const [result, setResult] = useState<Result | ''>('');
  const [sampled, setSampled] = useState('');
  const [isKept, setKept] = useState(false);
  const [problems, setProblems] = useState<Problems>({});
  const all = (places.data?.places ?? []).filter((one) => one.kind === 'enclosure');
  const here = all.find((one) => one.id === place || one.code === place);
  const isTest = what === 'tested';

  async function tell() {
    const found: Problems = {
      place: here ? undefined : F.animalPlaceNeeded,
      what: what ? undefined : F.animalNeeded,
      threat: isTest && !threat ? F.animalResultNeeded : undefined,
      result: isTest && !result ? F.animalResultNeeded : undefined,
    };
    setProblems(found);
    if (!here || !what || Object.values(found).some(Boolean)) return found;
    const id = newId();
    const ids = await record(t(F.animalTold, { place: here.name, what: F.animalKinds[what] }), [
      { id, kind: 'animal_noted', body: { place: here.id, what, animal: animal.trim(), ...(isTest ? { threat, is_positive: result === 'positive', sampled_at: sampled } : {}) } },
    ]);
    if ((await settled(ids, 4_000)) === 'sent') go(`/found/${id}`);
    else setKept(true);
    return undefined;
  }

  return (
    <>
      <Form submit={F.tellSubmit} onSubmit={tell}>
        <SelectField label={F.place} value={here?.id ?? ''} empty={F.placeEmpty} problem={problems.place} onValue={setPlace} options={all.map((one) => ({ value: one.id, label: one.name }))} />
        <ChoiceField label={F.animalWhat} value={what} problem={problems.what} onValue={setWhat} options={optionsOf(F.animalKinds)} />
        <TextField label={F.animalWhich} isOptional value={animal} onValue={setAnimal} />
        {isTest && (
          <>
            <ChoiceField label={F.animalThreat} value={threat} problem={problems.threat} onValue={setThreat} options={optionsOf(F.animalThreats)} />
            <ChoiceField label={F.animalResult} value={result} problem={problems.result} onValue={setResult} options={optionsOf(F.animalResults)} />
            <Field label={F.animalSampled} hint={F.animalSampledHint} isOptional>
              {(ties) => <input type="date" {...ties} value={sampled} onInput={(event) => setSampled(event.currentTarget.value)} />}
            </Field>
          </>
        )}
      </Form>
      {isKept && <p class="note" role="status">{F.kept}</p>}
    </>
  );
}

export default function AnimalScreen({ query }: ScreenProps) {
  const answer = useAnswer('found', () => client.GET('/api/v1/found'));
  return (
    <Shown answer={answer} title={F.animal}>
      {({ first_animals: lines }) => (
        <>
          <div class="head">
            <Heading title={F.animal}>{F.animal}</Heading>
            <p class="held">{F.animalVet}</p>
          </div>
          <First lines={lines} />
          <Tell at={query.get('place') ?? ''} />
        </>
      )}
    </Shown>
  );
}
