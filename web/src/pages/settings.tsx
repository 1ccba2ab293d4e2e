// What this device prefers, and what the farm has set.
import { useEffect, useState } from 'preact/hooks';
import { told, type Snapshot } from '../api';
import type { FarmSnapshot } from '../app';
import { ranges } from '../checks';
import { Entry, type Item } from '../parts/entry';
import { Box, Notice, Page, Picks } from '../parts/ui';
import { setSystem, setTheme, setWho, type Theme, theme, useDraft, useUnits, who } from '../settings';
import { save, useSync } from '../sync';
import type { System } from '../units';
import { capital } from '../words';

export function Settings({ snapshot }: { snapshot: Snapshot | null }) {
  const units = useUnits();
  const [look, setLook] = useState(theme());
  const [name, setName] = useState(who());
  return (
    <Page title="Settings">
      <section class="sheet" aria-labelledby="device-head">
        <h2 id="device-head">This device</h2>
        <div class="boxes">
          <Picks name="theme" label="Theme" value={look} onPick={(t) => { setTheme(t as Theme); setLook(t as Theme); }}
            choices={[['auto', 'as the device'], ['day', 'day'], ['night', 'night'], ['glare', 'glare, for full sun']]} />
          <Picks name="units" label="Units" value={units.system} onPick={(s) => setSystem(s as System)} choices={[['us', 'US: acres, bushels, pounds, °F'], ['metric', 'metric: hectares, tonnes, kilograms, °C']]} />
          <Box id="who" label="Who enters things here" value={name} onInput={(v) => { setName(v); setWho(v); }} hint="stands beside each entry from this device" wide />
        </div>
      </section>
      {snapshot?.farm && <FarmSettings snapshot={snapshot as FarmSnapshot} />}
      {snapshot?.farm && <SeasonFile />}
    </Page>
  );
}

function FarmSettings({ snapshot }: { snapshot: FarmSnapshot }) {
  const { farm } = snapshot;
  const crops = [...new Set(snapshot.fields.map((f) => f.crop))];
  const items: Item[] = [
    { name: 'name', label: 'Farm', needed: true, wide: true },
    { name: 'place', label: 'Place', wide: true },
    ...crops.map((c): Item => ({ name: `limit-${c}`, label: `Limit for ${c}`, kind: 'decimal', unit: '%', range: ranges.moisture, hint: 'cut at or under it' })),
    { name: 'work_from', label: 'Work from', kind: 'time' },
    { name: 'work_until', label: 'Work until', kind: 'time' },
    { name: 'season_end', label: 'Season ends', kind: 'date' },
    { name: 'contact', label: 'Contact for weather services', hint: 'an address that a forecast service may write to', wide: true },
  ];
  const initial: Record<string, string> = {
    name: farm.name, place: farm.place, work_from: farm.work_from, work_until: farm.work_until, season_end: farm.season_end, contact: farm.contact,
    ...Object.fromEntries(crops.map((c) => [`limit-${c}`, farm.limits_pct[c] ?? ''])),
  };
  return (
    <section class="sheet" aria-labelledby="farm-head">
      <h2 id="farm-head">The farm</h2>
      <Entry name="settings" type="settings" path="/more/settings" items={items} initial={initial} button="Save settings" say={() => 'Settings'}
        check={(v) => (JSON.stringify(v) === JSON.stringify(initial) ? { name: 'Nothing was changed.' } : {})}
        body={(v) => {
          const limits = Object.fromEntries(crops.filter((c) => v[`limit-${c}`] !== initial[`limit-${c}`] && v[`limit-${c}`]).map((c) => [c, v[`limit-${c}`]]));
          const plain = Object.fromEntries(['name', 'place', 'work_from', 'work_until', 'season_end', 'contact'].filter((k) => v[k] !== initial[k]).map((k) => [k, v[k]]));
          return { ...plain, ...(Object.keys(limits).length ? { limits } : {}) };
        }} />
    </section>
  );
}

/** SeasonFile is the whole season as the text a person can read, keep and change. */
function SeasonFile() {
  const [draft, change, clear] = useDraft('season-file', { text: '' });
  const [open, setOpen] = useState(draft.text !== '');
  const [stands, setStands] = useState<string | null>(null);
  const text = draft.text || stands;
  const [sent, setSent] = useState<string | null>(null);
  const [away, setAway] = useState(false);
  const answer = useSync().outbox.find((k) => k.id === sent)?.answer;
  useEffect(() => {
    if (!open || stands !== null) return;
    fetch('/api/season', { cache: 'no-store' }).then((r) => (r.ok ? r.text() : Promise.reject(new Error(String(r.status))))).then(setStands, () => setAway(true));
  }, [open]);
  // What was taken stands in the book; what was refused stays here to be mended.
  useEffect(() => {
    if (answer && answer.status !== 'refused') {
      setStands(draft.text || stands);
      clear();
    }
  }, [answer?.status]);
  const keep = (text: string) => void save('season', { text }, 'The season file', { draft: 'season-file', values: { text }, path: '/more/settings' }).then(setSent);
  return (
    <section class="sheet" aria-labelledby="season-file-head">
      <h2 id="season-file-head">The season file</h2>
      <p>Fields, machines, outlets, bins, contracts and shares stand in one text. It can be changed here, or kept and compared elsewhere.</p>
      {!open && <button type="button" class="button" onClick={() => setOpen(true)}>Open the season file</button>}
      {away && <Notice kind="caution" word="Away."><span>The season file stands at the farm’s computer, which does not answer now.</span></Notice>}
      {open && text !== null && (
        <form onSubmit={(e) => { e.preventDefault(); keep(text); }}>
          <div class="box wide"><label for="season-text">Season file</label><div class="in"><textarea id="season-text" rows={24} spellcheck={false} value={text} onInput={(e) => change({ text: e.currentTarget.value })} /></div></div>
          <div class="actions">
            <button class="button primary">Save season file</button>
            {draft.text && draft.text !== stands && <button type="button" class="button" onClick={clear}>Back to what is in the book</button>}
          </div>
        </form>
      )}
      {sent && <div class="notice" role="status">{!answer ? 'Saved on this device; it is sent when the farm’s computer answers.' : answer.status === 'refused' ? <><b>Not taken.</b> {capital(told(answer.error))}<ul>{(answer.findings ?? []).filter((f) => f.say !== answer.error?.say).map((f) => <li key={f.say}>{told(f)}</li>)}</ul></> : <strong>In the book.</strong>}</div>}
    </section>
  );
}
