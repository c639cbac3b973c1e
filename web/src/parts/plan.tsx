// The evening's plan for one lot.
import type { Plan } from '../api';
import { S, t } from '../strings.en';

const HOUR = 60;
const DAY = 24 * HOUR;

function length(low: number, high: number): string {
  const [unit, text] = low >= 2 * DAY ? ([DAY, S.lot.days] as const) : low >= 3 * HOUR ? ([HOUR, S.lot.hours] as const) : ([1, S.lot.minutes] as const);
  if (unit === 1 && low === high) return t(S.lot.minutesOne, { n: low });
  return t(text, { low: Math.round(low / unit), high: Math.round(high / unit) });
}

/** `name`: whose plan it is, where several stand on a page. */
export function EveningPlan({ plan, isDone, name }: { plan: Plan; isDone: boolean; name?: string }) {
  const body = (
    <>
      {plan.verdict !== 'go' && <p><b>{plan.verdict_text}</b>{plan.verdict_why && `: ${plan.verdict_why}`}</p>}
      {plan.nothing_text && <p>{plan.nothing_text}</p>}
      <ol class="steps">
        {plan.steps.map((step, k) => (
          <li key={k}>
            <b>{step.step_text}</b>
            {step.agent !== 'none' && ` · ${step.agent_text}`}
            <span class="quiet">
              {' · '}{length(step.minutes_low, step.minutes_high)}
              {step.times > 1 && ` · ${t(S.lot.times, { n: step.times })}`}
              {step.is_called_for && ` · ${S.lot.asked}`}
            </span>
            <p class="quiet">{step.reason_text}</p>
          </li>
        ))}
      </ol>
      {plan.dip.agent === 'none' && <p class="quiet">{plan.dip.reason_text}</p>}
      {plan.cautions.length > 0 && (
        <>
          <h3>{S.lot.cautions}</h3>
          <ul class="dots">{plan.cautions.map((text) => <li key={text}>{text}</li>)}</ul>
        </>
      )}
    </>
  );
  if (!isDone) {
    if (name) return body; // it stands below a heading of its own
    return <section aria-labelledby="plan"><h2 id="plan">{S.lot.plan}</h2>{body}</section>;
  }
  return <details><summary>{S.lot.planDone}</summary>{body}</details>;
}
