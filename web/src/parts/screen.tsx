// What all screens share: a heading, a title, and the three states of an answer.
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Answer } from '../answer';
import type { Trouble } from '../api';
import { focusHeading } from '../router';
import { SignIn } from '../screens/signin';
import { useReading } from '../jobs';
import { work as W } from '../strings/work.en';
import { S } from '../strings.en';
import { WorkLine } from './work';

/** The one heading of a screen. `isWaiting`: the screen's data is still awaited. */
export function Heading({ children, title, isWaiting = false }: { children: ComponentChildren; title: string; isWaiting?: boolean }) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    if (heading.current) focusHeading(heading.current, isWaiting);
  }, []);
  useEffect(() => {
    document.title = `${title} · ${S.app}`;
  }, [title]);
  return (
    <h1 ref={heading} tabIndex={-1}>
      {children}
    </h1>
  );
}

export function TroubleBox({ trouble, again }: { trouble: Trouble; again: () => void }) {
  return (
    <div class="trouble" role="alert">
      <p><b>{trouble.status === 0 ? S.unreachable : trouble.title}</b></p>
      {trouble.status !== 0 && trouble.detail && <p>{trouble.detail}</p>}
      <button type="button" onClick={again}>{S.again}</button>
    </div>
  );
}

/** Shows the answer with `children`, or says that it is awaited, or what went wrong. */
export function Shown<T>({ answer, title, children }: { answer: Answer<T>; title: string; children: (data: T) => ComponentChildren }) {
  const { data, trouble } = answer;
  if (trouble?.status === 401) return <SignIn />;
  if (data !== undefined) {
    return (
      <>
        {trouble && (
          <div class="trouble" role="alert">
            <p>{trouble.status === 0 ? S.unreachable : trouble.title} {S.keptOld}</p>
          </div>
        )}
        {children(data)}
      </>
    );
  }
  if (trouble) {
    return (
      <>
        <Heading title={S.failed}>{S.failed}</Heading>
        <TroubleBox trouble={trouble} again={answer.again} />
      </>
    );
  }
  return (
    <>
      <Heading title={title} isWaiting>{title}</Heading>
      <Waiting isLate={answer.isLate} />
    </>
  );
}

/** That a page is awaited; in a large room, how far the server is with it, and a way to give it up. */
function Waiting({ isLate }: { isLate: boolean }) {
  const { reading, cancel } = useReading(isLate);
  if (reading?.work) return <WorkLine at={reading} text={W.page} isPage onCancel={reading.is_own ? cancel : undefined} />;
  return <p class="quiet" role="status">{isLate ? S.loading : ''}</p>;
}
