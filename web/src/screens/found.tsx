// Something was found: five lines first; then telling it; then all that was found so far.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, PLAIN } from '../api';
import type { components } from '../../build/api';
import { First } from '../parts/found/first';
import { CheckField, Form, SelectField, TextField, type Problems } from '../parts/form';
import { DoorBarred, DoorShut, Eye, Leaf } from '../parts/marks';
import { PhotoButton } from '../parts/photos';
import { Heading, TroubleBox } from '../parts/screen';
import { newId } from '../record/event';
import { dataUrl } from '../record/photo';
import { useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { SignIn } from './signin';
import { found as F } from '../strings/found.en';
import { photos as P } from '../strings/photos.en';
import { t } from '../strings.en';

type Line = components['schemas']['FoundLine'];

function stateOf(line: Line): string {
  const words: string[] = [];
  if (line.is_retracted) words.push(F.retracted);
  else if (line.is_held) words.push(F.held);
  if (line.is_harmless) words.push(F.harmless);
  if (!line.is_named && line.kind === 'finding' && !line.is_retracted) words.push(F.unnamed);
  return words.join(', ');
}

function LineMark({ line }: { line: Line }) {
  if (line.is_held) return <DoorBarred />;
  if (line.is_harmless) return <Leaf />;
  return line.is_retracted ? <Eye /> : <DoorShut />;
}

function List({ lines }: { lines: readonly Line[] }) {
  const sorted = [...lines.filter((line) => line.is_held), ...lines.filter((line) => !line.is_held)];
  return (
    <section aria-labelledby="list">
      <h2 id="list">{F.list}</h2>
      {sorted.length === 0 ? <p class="quiet">{F.listNone}</p> : (
        <ul class="lines">
          {sorted.map((line) => (
            <li key={line.id} class="line">
              <LineMark line={line} />
              <div>
                <a class="line-link" href={`/found/${line.code}`}>{line.text}</a><span class="state">{stateOf(line)}</span>
                <p class="quiet">{t(F.lineIn, { when: line.when_text, place: line.place?.name ?? '' })}</p>
              </div>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function Tell({ at }: { at: string }) {
  const places = useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));
  const lots = useAnswer('lots plain', () => client.GET('/api/v1/lots', PLAIN));
  const { recordTogether, settled } = useRecord();
  const [place, setPlace] = useState(at);
  const [lot, setLot] = useState('');
  const [what, setWhat] = useState('');
  const [isRemoved, setRemoved] = useState(false);
  const [isKept, setKept] = useState(false);
  const [photo, setPhoto] = useState<{ bytes: ArrayBuffer; url: string }>();
  const [problems, setProblems] = useState<Problems>({});
  const all = (places.data?.places ?? []).filter((one) => one.kind !== 'outside');
  const here = all.find((one) => one.id === place || one.code === place);
  const there = (lots.data?.lots ?? []).filter((one) => one.place?.id === here?.id);

  async function tell() {
    const found: Problems = { place: here ? undefined : F.placeNeeded, what: what.trim() ? undefined : F.whatNeeded };
    setProblems(found);
    if (!here || !what.trim()) return found;
    const finding = newId();
    const ids = await recordTogether(t(F.told, { place: here.name, what: what.trim() }), [
      { kind: 'look_done', body: { place: here.id, effort: 'glance', findings: [{ finding, lot, what: what.trim(), ...(isRemoved ? { is_removed: true } : {}) }] } },
      ...(photo ? [{ kind: 'photo_attached', body: { subject: finding }, photo: photo.bytes }] : []),
    ]);
    setWhat('');
    setPhoto(undefined);
    if ((await settled(ids, 4_000)) === 'sent') go(`/found/${finding}`);
    else setKept(true);
    return undefined;
  }

  return (
    <section aria-labelledby="tell">
      <h2 id="tell">{F.tell}</h2>
      <p class="quiet">{F.tellText}</p>
      {photo ? (
        <div class="photo-new">
          <img src={photo.url} alt={t(P.recorded, { what: what.trim() || F.title })} />
          <p><button type="button" onClick={() => setPhoto(undefined)}>{P.leave}</button></p>
        </div>
      ) : (
        <p><PhotoButton label={P.take} isCamera onPicture={(bytes) => void dataUrl(bytes).then((url) => setPhoto({ bytes, url }))} /></p>
      )}
      <Form submit={F.tellSubmit} onSubmit={tell}>
        <SelectField label={F.place} value={here?.id ?? ''} empty={F.placeEmpty} problem={problems.place} onValue={(id) => { setPlace(id); setLot(''); }} options={all.map((one) => ({ value: one.id, label: one.name, group: one.kind_text }))} />
        <TextField label={F.what} hint={F.whatHint} value={what} onValue={setWhat} problem={problems.what} />
        {there.length > 0 && <SelectField label={F.lot} isOptional value={lot} empty={F.lotNone} onValue={setLot} options={there.map((one) => ({ value: one.id, label: `${one.name}, ${one.code}` }))} />}
        <div class="checks"><CheckField label={F.isRemoved} isChecked={isRemoved} onChecked={setRemoved} /></div>
      </Form>
      {isKept && <p class="note" role="status">{F.kept}</p>}
    </section>
  );
}

export default function FoundScreen({ query }: ScreenProps) {
  const answer = useAnswer('found', () => client.GET('/api/v1/found'));
  if (answer.trouble?.status === 401) return <SignIn />;
  return (
    <>
      <div class="head">
        <Heading title={F.title}>{F.title}</Heading>
      </div>
      <First lines={F.first} />
      <p class="lead">{F.firstDone}</p>
      <p class="ask">
        <a href="/found/what">{F.whatLink}</a>
        <a href="/found/animal">{F.animalLink}</a>
        <a href="/found/trace">{F.traceLink}</a>
      </p>
      <div class="two">
        <Tell at={query.get('place') ?? ''} />
        <div>
          {answer.trouble && <TroubleBox trouble={answer.trouble} again={answer.again} />}
          {answer.data && <List lines={answer.data.found} />}
        </div>
      </div>
    </>
  );
}
