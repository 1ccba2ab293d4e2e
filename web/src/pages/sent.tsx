// What was saved on this device and what became of it.
import { told } from '../api';
import { go, Page } from '../parts/ui';
import type { Kept } from '../kept';
import { deal, needsYou, send, type State, unsent } from '../sync';
import { age, count } from '../words';

export function Sent({ sync }: { sync: State }) {
  const refused = needsYou(sync);
  const waiting = unsent(sync);
  const done = sync.outbox.filter((k) => k.answer && !refused.includes(k)).toReversed().slice(0, 100);
  return (
    <Page title="Sent from this device" under={<p class="second">{count(sync.outbox.length, 'entry', 'entries')} kept here for the season; each counts once, however often it is sent.</p>}>
      {sync.outbox.length === 0 && <p>Nothing was entered on this device yet. What is saved here is kept here first, sent when the farm’s computer answers, and shown until then.</p>}
      {refused.length > 0 && (
        <section class="sheet" aria-labelledby="refused-head">
          <h2 id="refused-head">Needs you</h2>
          {refused.map((k) => (
            <div key={k.id} class="notice stop">
              <p><b>Not taken.</b> {k.say}, {age(k.command.device_time, Date.now())}.</p>
              <p>{told(k.answer?.error)}</p>
              <div class="actions">
                {k.form && <button type="button" class="button" onClick={() => void mend(k)}>Mend it</button>}
                <button type="button" class="button" onClick={() => void deal(k.id)}>Let it go</button>
              </div>
            </div>
          ))}
        </section>
      )}
      {waiting.length > 0 && (
        <section class="sheet" aria-labelledby="waiting-head">
          <h2 id="waiting-head">Not yet sent</h2>
          <ul>{waiting.map((k) => <li key={k.id}>{k.say}, saved {age(k.command.device_time, Date.now())}</li>)}</ul>
          <div class="actions"><button type="button" class="button primary" onClick={() => void send()}>Send now</button></div>
        </section>
      )}
      {done.length > 0 && (
        <section class="sheet" aria-labelledby="done-head">
          <h2 id="done-head">In the office</h2>
          <ul>{done.map((k) => <li key={k.id}>{k.answer?.say || k.say}{k.answer?.status === 'doubt' ? ' (worth a look)' : k.answer?.status === 'refused' ? ' (not taken, dealt with)' : ''}, {age(k.command.device_time, Date.now())}</li>)}</ul>
        </section>
      )}
    </Page>
  );
}

/** mend puts what was typed back into its boxes and goes there. */
async function mend(k: Kept): Promise<void> {
  if (!k.form) return;
  localStorage.setItem(`draft:${k.form.draft}`, JSON.stringify(k.form.values));
  await deal(k.id);
  go(k.form.path);
}
