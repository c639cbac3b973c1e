// Photos beside what they show: the newest first, one large on its own page; a new one is looked at before it
// is kept, and goes out with the events, also later.
import type { ComponentChildren } from 'preact';
import { useId, useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { day } from '../format';
import { dataUrl, photoAddress, smaller } from '../record/photo';
import { once, useRecord } from '../record/use';
import { photos as P } from '../strings/photos.en';
import { t } from '../strings.en';
import { TextField } from './form';

export type Photo = Schemas['Photo'];

/** A button that opens the camera (or the files); gives the picture made smaller. */
export function PhotoButton({ label, isCamera, onPicture }: { label: string; isCamera?: boolean; onPicture: (bytes: ArrayBuffer) => void }) {
  const id = useId();
  const [said, setSaid] = useState('');
  async function read(input: HTMLInputElement) {
    const file = input.files?.[0];
    input.value = ''; // the same file again is a choice too
    if (!file) return;
    setSaid(P.working);
    try {
      onPicture(await smaller(file));
      setSaid('');
    } catch {
      setSaid(P.unreadable);
    }
  }
  return (
    <span class="photo-button">
      <input
        id={id} type="file" accept="image/*" {...(isCamera ? { capture: 'environment' as const } : {})}
        onChange={(event) => void read(event.currentTarget)}
      />
      <label class="button" for={id}>{label}</label>
      <span role="status" class={said === P.unreadable ? 'problem' : 'progress'}>{said}</span>
    </span>
  );
}

/** Takes, shows, and after a word about it keeps a photo of a lot, place, plant or finding. */
export function TakePhoto({ of, what, children }: { of: string; what: string; children?: ComponentChildren }) {
  const { record } = useRecord();
  const [taken, setTaken] = useState<{ bytes: ArrayBuffer; url: string }>();
  const [caption, setCaption] = useState('');
  async function show(bytes: ArrayBuffer) {
    setTaken({ bytes, url: await dataUrl(bytes) });
  }
  const leave = () => {
    setTaken(undefined);
    setCaption('');
  };
  const keep = once(() => {
    if (!taken) return;
    void record(t(P.recorded, { what }), [{ kind: 'photo_attached', body: { subject: of, caption: caption.trim() }, photo: taken.bytes }]);
    leave();
  });
  if (!taken) {
    return (
      <p class="acts">
        <PhotoButton label={P.take} isCamera onPicture={(bytes) => void show(bytes)} />
        <PhotoButton label={P.choose} onPicture={(bytes) => void show(bytes)} />
        {children}
      </p>
    );
  }
  return (
    <div class="photo-new">
      <img src={taken.url} alt={t(P.recorded, { what })} />
      <TextField label={P.caption} isOptional value={caption} onValue={setCaption} />
      <p class="acts">
        <button type="button" class="main-act" onClick={keep}>{P.keep}</button>
        <button type="button" onClick={leave}>{P.leave}</button>
      </p>
      <p class="quiet">{P.privacy}</p>
    </div>
  );
}

export function PhotoList({ photos }: { photos: readonly Photo[] }) {
  return (
    <ul class="photos">
      {photos.map((photo) => (
        <li key={photo.event_id}>
          <a href={`/photos/${photo.event_id}`}>
            <img src={photoAddress(photo.sha256)} alt={photo.alt_text} loading="lazy" width={150} height={150} />
          </a>
          <span class="quiet">{day(photo.on)}</span>{photo.caption && <span> {photo.caption}</span>}
        </li>
      ))}
    </ul>
  );
}

/** A page's part: the photos of one thing, and taking another. */
export function Photos({ of, what }: { of: string; what: string }) {
  const answer = useAnswer(`photos ${of}`, () => client.GET('/api/v1/photos', { params: { query: { of } } }));
  const list = answer.data?.photos ?? [];
  return (
    <section aria-labelledby="photos">
      <h2 id="photos">{P.title}</h2>
      {list.length > 0 ? <PhotoList photos={list} /> : <p class="quiet">{P.none}</p>}
      <TakePhoto of={of} what={what} />
    </section>
  );
}
