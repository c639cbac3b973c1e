// One photo, large, with what it shows; it can be taken back.
import { useAnswer } from '../answer';
import { client } from '../api';
import { day } from '../format';
import type { Photo } from '../parts/photos';
import { Heading, Shown } from '../parts/screen';
import { photoAddress } from '../record/photo';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { photos as P } from '../strings/photos.en';

function Whose({ photo }: { photo: Photo }) {
  return (
    <p class="ask">
      {photo.subject_kind === 'finding' && <a href={`/found/${photo.subject_id}`}>{photo.alt_text}</a>}
      {photo.lot && <a href={paths.lot(photo.lot.code)}>{photo.lot.name}, {photo.lot.code}</a>}
      {photo.place && <a href={paths.place(photo.place.code)}>{photo.place.name}</a>}
      {photo.subject_kind === 'gone' && <span class="quiet">{P.gone}</span>}
      <a href="/photos">{P.all}</a>
    </p>
  );
}

export default function PhotoScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer('photos', () => client.GET('/api/v1/photos', { params: { query: {} } }));
  const { record } = useRecord();
  return (
    <Shown answer={answer} title={P.title}>
      {({ photos }) => {
        const photo = photos.find((one) => one.event_id === id);
        if (!photo) return <><Heading title={P.title}>{P.title}</Heading><p class="lead">{P.notThere}</p><p><a href="/photos">{P.all}</a></p></>;
        const takeBack = once(() => void record(P.removed, [{ kind: 'event_voided', body: { event: photo.event_id } }]));
        return (
          <>
            <div class="head">
              <p class="kicker">{day(photo.on)}</p>
              <Heading title={photo.caption ?? P.title}>{photo.caption ?? P.title}</Heading>
              <Whose photo={photo} />
            </div>
            <p><img class="photo-large" src={photoAddress(photo.sha256)} alt={photo.alt_text} /></p>
            <p><button type="button" onClick={takeBack}>{P.remove}</button></p>
          </>
        );
      }}
    </Shown>
  );
}
