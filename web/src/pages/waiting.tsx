// Entries that are doubtful: what is doubted, and what a person makes of it.
import { told } from '../api';
import type { FarmSnapshot } from '../app';
import { Say } from '../parts/say';
import { Page } from '../parts/ui';
import type { State } from '../sync';
import { capital, count } from '../words';

export function WaitingPage({ snapshot, sync }: { snapshot: FarmSnapshot; sync: State }) {
  const pending = new Set(sync.outbox.filter((k) => !k.answer).map((k) => k.command.body['of']));
  const list = snapshot.waiting.filter((w) => !pending.has(w.id));
  return (
    <Page title="Waiting for a look" under={<p class="second">{list.length ? `${count(list.length, 'entry is', 'entries are')} doubtful. Nothing is lost; each waits for your word.` : 'Nothing waits.'}</p>}>
      {list.map((w) => (
        <section key={w.id} class="sheet" aria-label={`${w.kind} that waits`}>
          <h2>{capital(w.kind.split('.')[0] ?? w.kind)}: {sentence(w.body, snapshot)}</h2>
          <ul>{w.words.map((one) => <li key={one}>{capital(one)}.</li>)}</ul>
          {w.kind.startsWith('load') && <p><a href={`/loads/${encodeURIComponent(w.id)}`}>Open the load</a>{w.like && <>; it looks like <a href={`/loads/${encodeURIComponent(w.like)}`}>this one</a></>}</p>}
          <details><summary>what can be done with it</summary>
            <h3>It is right as it stands</h3>
            <Say type="keep" of={w.id} button="Keep it" what="Kept as it is" ask="How you know" />
            {w.like && <><h3>Both are one truckload</h3><Say type="merge" of={w.id} into={w.like} button="Merge them" what="Merged" ask="How you know they are one" /></>}
            <h3>It should not count</h3>
            <Say type="void" of={w.id} button="Take it out" what="Taken out" ask="Why" />
          </details>
        </section>
      ))}
      {snapshot.findings.length > 0 && (
        <section class="sheet" aria-labelledby="doubts-head">
          <h2 id="doubts-head">Doubts about the season</h2>
          <ul>{snapshot.findings.map((f) => <li key={f.rule + f.say}>{told(f)}</li>)}</ul>
        </section>
      )}
    </Page>
  );
}

/** sentence says what stands in an entry's body, as far as a person needs to know it again. */
function sentence(body: string, snapshot: FarmSnapshot): string {
  try {
    const b = JSON.parse(body) as Record<string, unknown> & { from?: { field: string }[] };
    const field = (b['field'] as string | undefined) ?? b.from?.map((p) => p.field).join(', ');
    const name = snapshot.fields.find((f) => f.id === field)?.name ?? field;
    const moisture = typeof b['moist_hundredth_pct'] === 'number' ? `${(b['moist_hundredth_pct'] / 100).toFixed(1)} %` : '';
    const outlet = [...snapshot.outlets, ...snapshot.bins].find((o) => o.id === b['outlet'])?.name ?? b['outlet'];
    const way = [b['crop'], name && (outlet ? `from ${name}` : `in ${name}`), outlet && `to ${String(outlet)}`].filter(Boolean).join(' ');
    return [b['ticket'] && `ticket ${String(b['ticket'])}`, way, moisture].filter(Boolean).join(', ');
  } catch {
    return '';
  }
}
