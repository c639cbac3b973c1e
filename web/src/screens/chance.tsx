// One number opened: how a pest's chance on a lot came about, and what would change it.
import { useAnswer } from '../answer';
import { client } from '../api';
import type { components } from '../../build/api';
import { day } from '../format';
import { Curve } from '../parts/curve';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { chance as C } from '../strings/chance.en';
import { t } from '../strings.en';

type Course = components['schemas']['Course'];

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function Marks({ course }: { course: Course }) {
  const { marks } = course;
  return (
    <section aria-labelledby="marks">
      <h2 id="marks">{C.marks}</h2>
      {marks.length === 0 && <p class="quiet">{C.marksNone}</p>}
      {marks.length > 0 && (
        <div class="table-box" tabIndex={0} role="region" aria-label={C.marksTable}>
          <table>
            <thead>
              <tr>
                <th scope="col">{C.marksHead.on}</th>
                <th scope="col">{C.marksHead.what}</th>
                <th scope="col">{C.marksHead.after}</th>
              </tr>
            </thead>
            <tbody>
              {marks.map((mark, k) => (
                <tr key={k}>
                  <th scope="row"><span class="nobreak">{day(mark.on)}</span></th>
                  <td>{capital(mark.text)}</td>
                  <td>{marks[k + 1]?.at === mark.at ? '' : mark.after_text}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function Why({ course }: { course: Course }) {
  return (
    <>
      <section aria-labelledby="origins">
        <h2 id="origins">{C.origins}</h2>
        <ul class="reasons">
          {course.origins.map((origin, k) => <li key={k}>{capital(origin.text)}</li>)}
        </ul>
      </section>
      <section aria-labelledby="warmth">
        <h2 id="warmth">{C.temps}</h2>
        <p>{course.temperatures.text}</p>
        {course.development_text && <p>{course.development_text}</p>}
      </section>
      <section aria-labelledby="figures">
        <h2 id="figures">{C.figures}</h2>
        <ul class="reasons">
          {course.sources.map((source) => <li key={source.key}>{source.citation ?? source.key}</li>)}
        </ul>
      </section>
    </>
  );
}

function Helps({ course }: { course: Course }) {
  return (
    <section aria-labelledby="helps">
      <h2 id="helps">{C.helps}</h2>
      {course.helps.length === 0 && <p class="quiet">{C.helpsNone}</p>}
      <ul class="reasons">
        {course.helps.map((help) => <li key={help.kind}>{help.text}</li>)}
      </ul>
      <p><a class="button" href={`${paths.lot(course.lot.code)}/looks`}>{C.helpsMore}</a></p>
    </section>
  );
}

function Whole({ course }: { course: Course }) {
  const title = t(C.title, { threat: capital(course.plural), lot: course.lot.name });
  return (
    <>
      <p class="back"><a href={paths.lot(course.lot.code)}>{C.back}: {course.lot.name}</a></p>
      <div class="head">
        <p class="kicker">{C.kicker}</p>
        <Heading title={title}>{title}</Heading>
        <p class="lead">{capital(course.text)}.</p>
        {course.is_out_of_reach && <p class="note">{C.outOfReach}</p>}
      </div>
      <section aria-labelledby="curve">
        <h2 id="curve">{C.curve}</h2>
        <Curve course={course} />
        {course.ahead_text && <p>{capital(course.ahead_text)}</p>}
      </section>
      <div class="two">
        <div>
          <Helps course={course} />
          <Why course={course} />
        </div>
        <div>
          <Marks course={course} />
          <dl class="facts">
            <dt>{C.where}</dt>
            <dd>{course.look_where}</dd>
            <dt>{C.harm}</dt>
            <dd>{course.harm}</dd>
          </dl>
        </div>
      </div>
    </>
  );
}

export default function ChanceScreen({ params: { id = '', threat = '' } }: ScreenProps) {
  const answer = useAnswer(`chance ${id} ${threat}`, () =>
    client.GET('/api/v1/lots/{id}/chances/{threat}', { params: { path: { id, threat } } }));
  return (
    <Shown answer={answer} title={C.kicker}>
      {(course) => <Whole course={course} />}
    </Shown>
  );
}
