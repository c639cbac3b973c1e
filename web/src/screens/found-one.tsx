// One find, or one animal: its state, what now, where from, who else, the dates it moved, its story.
import { useAnswer } from '../answer';
import { client } from '../api';
import type { components } from '../../build/api';
import { First } from '../parts/found/first';
import { Proposals } from '../parts/found/proposals';
import { Reached } from '../parts/found/reached';
import { Sources } from '../parts/found/sources';
import { Story } from '../parts/found/story';
import { DoorBarred, DoorShut } from '../parts/marks';
import { Photos } from '../parts/photos';
import { Heading, Shown } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { found as F } from '../strings/found.en';
import { t } from '../strings.en';

type One = components['schemas']['FoundOne'];

function Retract({ of }: { of: One['of'] }) {
  const { record } = useRecord();
  return (
    <details>
      <summary>{F.retract}</summary>
      <p>{F.retractText}</p>
      <p>
        <button type="button" onClick={once(() => void record(t(F.retractDone, { text: of.text }), [{ kind: 'finding_retracted', body: { finding: of.id } }]))}>
          {F.retractDo}
        </button>
      </p>
    </details>
  );
}

function Dates({ dates }: { dates: One['dates'] }) {
  if (dates.length === 0) return null;
  return (
    <section aria-labelledby="dates">
      <h2 id="dates">{F.dates}</h2>
      <p class="quiet">{F.datesText}</p>
      <ul class="plain">
        {dates.map(({ lot, text }) => <li key={lot.id}><a href={paths.lot(lot.code)}>{lot.name}, {lot.code}</a>: {text}</li>)}
      </ul>
    </section>
  );
}

function Whole({ one }: { one: One }) {
  const { of, outbreak, dates } = one;
  const isOpen = outbreak.state === 'open';
  const canName = of.kind === 'finding' && !of.is_retracted;
  return (
    <>
      <div class="head">
        <p class="kicker">
          {t(of.kind === 'animal' ? F.kickerAnimal : F.kicker, { code: of.code })} · {of.when_text}
          {of.place && <> · <a href={paths.place(of.place.code)}>{of.place.name}</a></>}
          {of.lot && <> · <a href={paths.lot(of.lot.code)}>{of.lot.name}</a></>}
        </p>
        <Heading title={of.text}>{of.text}</Heading>
        <p class="answer">{of.is_held ? <DoorBarred /> : <DoorShut />}<span>{outbreak.state_text}</span></p>
        {outbreak.is_about_animals && <p class="held">{F.animalVet}</p>}
      </div>
      {isOpen && (
        <details class="first-fold" open={!of.is_named}>
          <summary>{F.firstLabel}</summary>
          <First lines={outbreak.first} />
        </details>
      )}
      <div class="column">
        {canName && !of.is_named && <p>{F.noName}</p>}
        {canName && !of.is_named && <p><a class="button" href={`/found/${of.code}/what`}>{F.whatIsIt}</a></p>}
        {canName && <Retract of={of} />}
        {of.kind === 'finding' && <Photos of={of.id} what={of.text} />}
      </div>
      <div class="two">
        <div>
          <Proposals proposals={outbreak.proposals} />
          <Dates dates={dates} />
        </div>
        <div>
          {outbreak.trace && <Sources trace={outbreak.trace} />}
          {outbreak.trace && <Reached trace={outbreak.trace} />}
        </div>
      </div>
      <Story outbreak={outbreak} />
    </>
  );
}

export default function FoundOneScreen({ params }: ScreenProps) {
  const id = params.id ?? '';
  const answer = useAnswer(`found ${id}`, () => client.GET('/api/v1/found/{id}', { params: { path: { id } } }));
  return (
    <Shown answer={answer} title={F.title}>
      {(one) => <Whole one={one} />}
    </Shown>
  );
}
