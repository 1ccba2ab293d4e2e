// A posted schedule as it is typed: read back in words, drawn, and told what keeps it from settling, with every keystroke.
import { useEffect, useState } from 'preact/hooks';
import { told, type Crop, type Trouble } from '../api';
import type { FarmSnapshot } from '../app';
import { Pays } from '../parts/chart';
import { Box, go, Notice, Page } from '../parts/ui';
import { useDraft } from '../settings';
import { save } from '../sync';
import { capital } from '../words';
import { type Draft, exampleSchedules, pasteSchedule, readSchedule } from '../wasm';

type Reading = { draft?: Draft; wrong?: Trouble[] } | null;

export function SchedulePage({ outlet, crop, snapshot }: { outlet: string; crop: string; snapshot: FarmSnapshot }) {
  const at = snapshot.outlets.find((o) => o.id === outlet);
  const crops = [...new Set(snapshot.fields.map((f) => f.crop))] as string[];
  if (!at || !crops.includes(crop)) return <Page title="No such schedule"><p>There is no outlet “{outlet}” for {crop}. <a href="/outlets">All outlets</a></p></Page>;
  const posted = at.schedules?.find((s) => s.crop === crop);
  return (
    <Page title={`${at.name}, ${crop}`} under={<p class="second">What this buyer takes and pays, as posted. {posted ? 'A new one takes the place of the one that stands, which stays on the disk.' : 'None is entered yet.'}</p>}>
      <Notice kind="caution" word="Mind."><span>The buyer’s own posted schedule decides. Copy it figure by figure, with its date, and ask where it is silent.</span></Notice>
      <Editor key={`${outlet} ${crop}`} outlet={outlet} name={at.name} crop={crop as Crop} posted={posted?.schedule} price={bid(snapshot, outlet, crop)} />
      <p><a href="/outlets">All outlets</a></p>
    </Page>
  );
}

/** bid is the price that stands at an outlet, to draw at; empty where none does. */
function bid(snapshot: FarmSnapshot, outlet: string, crop: string): string {
  return snapshot.bids.filter((b) => b.outlet === outlet && b.crop === crop && b.price_usd).toSorted((a, b) => b.at.localeCompare(a.at))[0]?.price_usd ?? '';
}

function Editor({ outlet, name, crop, posted, price }: { outlet: string; name: string; crop: Crop; posted: unknown; price: string }) {
  const [values, change, clear] = useDraft(`schedule-${outlet}-${crop}`, { text: '', price });
  const [got, set] = useState<Reading>(null);
  const [away, setAway] = useState(false);
  const [said, setSaid] = useState('');
  const [emptied, setEmptied] = useState(false);
  const text = values['text'] ?? '';

  // An empty editor begins with what stands.
  useEffect(() => {
    if (text || !posted) return;
    readSchedule(JSON.stringify(posted), '').then((r) => { if (r.ok) change({ text: r.ok.toml }); }, () => setAway(true));
  }, []);
  useEffect(() => {
    if (!text.trim()) { set(null); return; }
    const wait = setTimeout(() => {
      readSchedule(text, values['price'] ?? '').then((r) => { setAway(false); set(r.ok ? { draft: r.ok } : { wrong: r.findings?.length ? r.findings : [r.error!] }); }, () => setAway(true));
    }, 150);
    return () => clearTimeout(wait);
  }, [text, values['price']]);

  const draft = got?.draft;
  const otherCrop = draft && draft.crop !== crop;
  const errors = [...(got?.wrong ?? []), ...(draft?.errors ?? [])];
  const ready = draft && draft.settles && !otherCrop;
  const keep = async (e: Event) => {
    e.preventDefault();
    if (!ready) { setSaid('It is not saved: what is marked below keeps it from settling a load.'); return; }
    await save('schedule', { outlet, crop, text }, `Schedule of ${name} for ${crop}`, { draft: `schedule-${outlet}-${crop}`, values: { text }, path: `/outlets/${outlet}/${crop}` });
    clear();
    go('/outlets');
  };
  return (
    <form onSubmit={keep} noValidate>
      <Begin crop={crop} onText={(t) => change({ text: t })} full={text.trim() !== ''} />
      <div class="two">
        <div>
          <Box id="schedule-text" label="The schedule" kind="long" wide value={text} onInput={(t) => { setSaid(''); change({ text: t }); }}
            hint="One table, as [[moisture]], for each line of the posted schedule; the forms above show how."
            {...(errors.length ? { wrong: errors.map((t) => `${t.where ? `${capital(t.where)}: ` : ''}${t.say} ${t.next ?? ''}`.trim()).slice(0, 4).join(' ') } : {})} />
          <div class="boxes"><Box id="schedule-price" label="Draw it at" kind="decimal" unit="$/bu" value={values['price'] ?? ''} onInput={(t) => change({ price: t })} hint="To look at only; a load settles at its own price." /></div>
        </div>
        <section aria-labelledby="readback" aria-live="polite">
          <h2 id="readback">Read back</h2>
          {away && <p>What reads it back is not on this device yet. Open this page once while the farm’s computer answers.</p>}
          {!away && !text.trim() && <p class="second" role="status">{posted && !emptied ? 'Reading the schedule that stands…' : 'Nothing is typed yet.'}</p>}
          {otherCrop && <Notice kind="stop" word="Another crop."><span>This schedule is for {draft.crop}, and the page for {crop}.</span></Notice>}
          {draft && <ReadBack draft={draft} price={values['price'] ?? ''} name={name} />}
          {!draft && errors.length > 0 && <p class="second">It reads itself back once the text above can be read.</p>}
        </section>
      </div>
      {said && <Notice kind="stop" word="No." live><span>{said}</span></Notice>}
      <div class="actions"><button class="button primary">Save schedule</button>{text && <button type="button" class="button" onClick={() => { setEmptied(true); change({ text: '' }); }}>Empty the box</button>}</div>
    </form>
  );
}

function ReadBack({ draft, price, name }: { draft: Draft; price: string; name: string }) {
  const points = (draft.curve ?? []).map((p) => [p.reading, p.net_usd_per_gross_unit] as [string, string | null]);
  return (
    <>
      {draft.settles ? <p><strong>It settles.</strong></p> : <p><strong>It does not settle yet</strong>; the box says why.</p>}
      <ul>{(draft.rows ?? []).map((r, i) => <li key={i}>{r.say}</li>)}</ul>
      {points.length > 1 && <Pays curve={{ price_usd: price, points }} what={name} />}
      <details><summary>how the buyer counts and rounds</summary><ul>{(draft.profile ?? []).map((p) => <li key={p}>{p}</li>)}</ul></details>
      {(draft.warnings ?? []).map((w) => <Notice key={w.say} kind="caution" word="Look."><span>{told(w)}</span></Notice>)}
    </>
  );
}

/** Begin fills the box from a common form or from a pasted table. */
function Begin({ crop, onText, full }: { crop: Crop; onText: (text: string) => void; full: boolean }) {
  const [examples, setExamples] = useState<{ name: string; toml: string }[]>([]);
  const [table, setTable] = useState('');
  const [wrong, setWrong] = useState('');
  useEffect(() => { exampleSchedules().then(setExamples, () => undefined); }, []);
  const paste = async () => {
    const r = await pasteSchedule(table, crop).catch(() => null);
    if (r?.ok) { setWrong(''); onText(r.ok.toml); } else setWrong(r ? `${r.error!.say} ${r.error!.next ?? ''}`.trim() : 'What reads tables is not on this device yet.');
  };
  return (
    <details open={!full || undefined}>
      <summary>ways to begin: a common form, or a table pasted from the buyer’s sheet</summary>
      <p class="second">Each form is an example with invented figures: replace every one of them by what the buyer posts.</p>
      <div class="actions">{examples.map((e) => <button key={e.name} type="button" class="button" onClick={() => onText(e.toml)}>{capital(e.name.replace(/-/g, ' '))}</button>)}</div>
      <Box id="schedule-paste" label="A pasted table" kind="long" wide value={table} onInput={setTable} hint="Lines of moisture and discount, as they stand on the sheet." {...(wrong ? { wrong } : {})} />
      <div class="actions"><button type="button" class="button" onClick={() => void paste()}>Make a schedule of it</button></div>
    </details>
  );
}
