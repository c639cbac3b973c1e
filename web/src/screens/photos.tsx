// All photos of the room, and the plants that moved in by one and have no name yet.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { TextField } from '../parts/form';
import { PhotoList } from '../parts/photos';
import { Heading, Shown } from '../parts/screen';
import { photoAddress } from '../record/photo';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import { photos as P } from '../strings/photos.en';
import { t } from '../strings.en';

/** Names it: what brought it in is told anew, under the same lot, so that everything of it stays. */
function Unnamed({ one, names }: { one: Schemas['UnnamedLot']; names: readonly string[] }) {
  const { recordTogether } = useRecord();
  const [name, setName] = useState('');
  const tell = once(() => {
    const { lot, place, count, form, use } = one;
    if (!name.trim() || !place) return;
    void recordTogether(t(P.named, { name: name.trim() }), [
      { kind: 'event_voided', body: { event: one.event_id } },
      { kind: 'lot_already_here', occurredAt: one.at, body: { lot: lot.id, name: name.trim(), count, form, use, place: place.id } },
    ]);
  });
  return (
    <li class="photo-unnamed">
      <a href={paths.lot(one.lot.code)}><img src={photoAddress(one.sha256)} alt={`${one.lot.name}, ${one.lot.code}`} width={150} height={150} loading="lazy" /></a>
      <div>
        <p>{one.place && <a href={paths.place(one.place.code)}>{one.place.name}</a>} <span class="quiet">{one.lot.code}</span></p>
        <TextField label={P.nameField} value={name} onValue={setName} suggestions={names} />
        <button type="button" onClick={tell}>{P.nameDo}</button>
      </div>
    </li>
  );
}

function All({ answer: { photos, to_name } }: { answer: Schemas['Photos'] }) {
  const known = useAnswer('names', () => client.GET('/api/v1/names'));
  const names = [...(known.data?.plants ?? []).map((plant) => plant.name), ...(known.data?.known_plants ?? []).map((plant) => plant.botanical_name)];
  return (
    <>
      {to_name.length > 0 && (
        <section aria-labelledby="to-name">
          <h2 id="to-name">{P.toName}</h2>
          <p>{P.toNameText}</p>
          <ul class="plain">{to_name.map((one) => <Unnamed key={one.lot.id} one={one} names={names} />)}</ul>
        </section>
      )}
      <section aria-labelledby="all">
        <h2 id="all">{P.all}</h2>
        {photos.length === 0 ? <p class="quiet">{P.none}</p> : <PhotoList photos={photos} />}
      </section>
    </>
  );
}

export default function PhotosScreen() {
  const answer = useAnswer('photos', () => client.GET('/api/v1/photos', { params: { query: {} } }));
  return (
    <Shown answer={answer} title={P.title}>
      {(data) => (
        <>
          <div class="head">
            <Heading title={P.title}>{P.title}</Heading>
            <p class="lead">{P.allText}</p>
          </div>
          <All answer={data} />
        </>
      )}
    </Shown>
  );
}
