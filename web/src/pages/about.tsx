// What the program is, where its figures come from, and what it leaves to others.
import { useState } from 'preact/hooks';
import { call, NoServer, type Snapshot, Told } from '../api';
import { Box, Page } from '../parts/ui';

export function About({ snapshot }: { snapshot: Snapshot | null }) {
  return (
    <Page title="About and sources" under={<p class="second">{snapshot?.program ?? 'Threshday'}{snapshot ? `, data in ${snapshot.data}` : ''}</p>}>
      <section class="sheet">
        <h2>What it answers</h2>
        <p>Each morning of harvest: which fields are fit to cut today or later, which machines go where, and which buyer, contract or bin gets each load. It forecasts every field’s moisture hour by hour over many weathers, corrects itself with your readings, and says in dollars what waiting is worth and how sure that is.</p>
        <p>Every figure is marked as measured, entered, assumed or forecast. Nothing leaves this computer: there are no third parties and no counting of visits.</p>
      </section>
      <section class="sheet">
        <h2>What others decide</h2>
        <ul>
          <li>The buyer’s own posted schedule decides what a load is docked.</li>
          <li>Weight limits and harvest permits are your state’s and county’s.</li>
          <li>An insurance adjuster’s count is his own; tell him before you cut a claimed field.</li>
          <li>Moisture odds do not replace your meter.</li>
        </ul>
      </section>
      <Source />
      {snapshot?.farm?.weather_credit && <section class="sheet"><h2>Weather</h2><p>{snapshot.farm.weather_credit}</p>{snapshot.weather.words.map((w) => <p key={w}>{w}</p>)}</section>}
      <section class="sheet"><h2>This page</h2><p>Type: Atkinson Hyperlegible Next, Braille Institute, SIL Open Font License 1.1. Made with Preact (MIT), idb (ISC) and Workbox (MIT).</p></section>
    </Page>
  );
}

interface Found { key: string; title: string; publisher: string; year: string; how: string }
const how: Record<string, string> = { read: 'read in the source', computed: 'computed from the source', measured: 'measured', judgement: 'our judgement', memory: 'from memory, to be confirmed' };

/** Source looks up what stands behind a key in brackets, as the pencil and the model pages print it. */
function Source() {
  const [key, setKey] = useState('');
  const [found, set] = useState<Found | string | null>(null);
  const look = async (e: Event) => {
    e.preventDefault();
    const name = key.trim().replace(/^\[|\]$/g, '');
    if (!name) return set('Type the key of a source, as asae-d245.');
    try { set(await call<Found>(`/api/sources/${encodeURIComponent(name)}`)); } catch (err) {
      set(err instanceof Told ? `${err.trouble.say} ${err.trouble.next ?? ''}` : err instanceof NoServer ? 'Sources are looked up at the farm’s computer, which does not answer now.' : String(err));
    }
  };
  return (
    <section class="sheet" aria-labelledby="source-head">
      <h2 id="source-head">Look up a source</h2>
      <form onSubmit={look}><Box id="source-key" label="Key" value={key} onInput={setKey} hint="as it stands in brackets behind a figure: asae-d245" wide /><div class="actions"><button class="button">Look up</button></div></form>
      <div role="status">{typeof found === 'string' ? <p>{found}</p> : found && <p><strong>{found.title}</strong>, {found.publisher} {found.year}; {how[found.how] ?? found.how}.</p>}</div>
    </section>
  );
}
