// One field: its moisture to come, what waiting is worth, what was read and seen, its ways in and its loads.
import { useState } from 'preact/hooks';
import type { Evidence, Field, Outlook, Reading, Stage } from '../api';
import type { FarmSnapshot } from '../app';
import { checkDay, ranges } from '../checks';
import { Curve, Fan } from '../parts/chart';
import { Entry, type Item } from '../parts/entry';
import { More, Notice, Page, Scroll } from '../parts/ui';
import { useUnits } from '../settings';
import { localTime, type State, useKept } from '../sync';
import { pct, printed, signed } from '../units';
import { age, capital, count, day, dayOf, days, odds, when } from '../words';
import { LoadRow } from './loads';
import { adviceWords, best, Choices, Turns } from './today';

const devices: [string, string][] = [['meter', 'moisture meter'], ['bite', 'bite'], ['combine', 'combine’s sensor'], ['ticket', 'scale ticket']];
const zones: [string, string][] = [['', 'the whole field'], ['low', 'low ground'], ['knob', 'knobs'], ['load', 'a load just cut']];
const stages: [string, string][] = [['R5', 'R5, seed filling'], ['R6', 'R6, full seed'], ['R7', 'R7, first ripe pod'], ['R8', 'R8, ripe'], ['dent', 'dent'], ['black-layer', 'black layer'], ['ripe', 'ripe'], ['brown', 'brown pods'], ['green', 'still green']];

export function FieldPage({ id, snapshot, sync }: { id: string; snapshot: FarmSnapshot; sync: State }) {
  const units = useUnits();
  const field = snapshot.fields.find((f) => f.id === id);
  const outlook = useKept(`/api/fields/${encodeURIComponent(id)}/outlook`, snapshot.plan?.id);
  const [adding, setAdding] = useState<'reading' | 'stage' | null>(null);
  const zone = snapshot.farm.zone;
  if (!field) return <Page title="No such field"><p>The season has no field “{id}”. <a href="/fields">All fields</a></p></Page>;
  const advice = snapshot.plan?.sheet.fields.find((a) => a.field === id);
  const readings = snapshot.readings.filter((r) => r.field === id).toSorted((a, b) => b.at.localeCompare(a.at));
  const stagesSeen = snapshot.stages.filter((s) => s.field === id).toSorted((a, b) => b.on.localeCompare(a.on));
  const loads = (snapshot.loads.loads ?? []).filter((l) => l.fields?.includes(id));
  const kept = sync.outbox.filter((k) => !k.answer && k.command.body['field'] === id);
  const today = dayOf(snapshot.plan?.sheet.as_of ?? snapshot.now, zone);
  const b = best(advice?.choices);
  return (
    <Page title={field.name} under={<p class="second num">{units.area(field.acres - field.cut_acres)} of {field.crop} to cut{field.cut_acres > 0 ? ` of ${units.area(field.acres)}` : ''}. {field.yield_bu_per_acre !== null ? `Yield ${units.yield(field.yield_bu_per_acre, field.crop)}${field.yield_how ? ` (${field.yield_how})` : ''}.` : 'Yield not given.'}</p>}>
      {advice && <p><strong>{capital(adviceWords(advice))}.</strong> {advice.because}</p>}
      <div class="actions">
        <button type="button" class="button primary" aria-expanded={adding === 'reading'} onClick={() => setAdding(adding === 'reading' ? null : 'reading')}>Add reading</button>
        <button type="button" class="button" aria-expanded={adding === 'stage'} onClick={() => setAdding(adding === 'stage' ? null : 'stage')}>Add stage</button>
      </div>
      {adding === 'reading' && <div class="sheet"><h2>Add reading</h2><AddReading field={field} snapshot={snapshot} onDone={() => setAdding(null)} /></div>}
      {adding === 'stage' && <div class="sheet"><h2>Add stage</h2><AddStage field={field} snapshot={snapshot} onDone={() => setAdding(null)} /></div>}
      {kept.length > 0 && <Notice><p><strong>Kept on this device, not yet in the office:</strong> {kept.map((k) => k.say).join('; ')}.</p></Notice>}

      <section class="sheet" aria-labelledby="outlook-head">
        <h2 id="outlook-head">Moisture to come</h2>
        {outlook.document
          ? <OutlookPart outlook={outlook.document} readings={readings} snapshot={snapshot} name={field.name} />
          : <p>{outlook.trouble ? `${outlook.trouble.say} ${outlook.trouble.next ?? ''}` : outlook.away ? 'The outlook is not on this device yet; it comes when the farm’s computer answers.' : 'Fetching the outlook…'}</p>}
      </section>

      {advice?.choices && b && (
        <section class="sheet" aria-labelledby="wait-head">
          <h2 id="wait-head">What waiting is worth</h2>
          <Curve label={`Dollars an ${units.areaUnit} for cutting later, against cutting today; 8 in 10 lie in the hatching.`}
            sentence={`Waiting ${days(b.wait_days)} is worth most: ${units.perArea(b.usd_per_acre)} an ${units.areaUnit}.`} format={(v) => signed(v)}
            points={advice.choices.map((c) => ({ x: c.wait_days, y: units.perAreaValue(c.usd_per_acre), low: units.perAreaValue(c.p10_usd / (advice.acres_left || 1)), high: units.perAreaValue(c.p90_usd / (advice.acres_left || 1)), label: c.wait_days === 0 ? 'today' : `+${c.wait_days}` }))} />
          <Choices advice={advice} today={today} />
          <Turns advice={advice} />
        </section>
      )}
      <Losses losses={(outlook.document?.losses ?? []).filter((l): l is Loss => l.loss_pct !== null)} />

      <section class="sheet" aria-labelledby="readings-head">
        <h2 id="readings-head">Readings and stages</h2>
        {readings.length + stagesSeen.length === 0 && <p>Nothing was read or seen here yet. One reading on the morning of cutting moves the answer more than anything else does.</p>}
        <ul>
          {readings.map((r) => <ReadingLine key={r.id} reading={r} snapshot={snapshot} evidence={outlook.document?.readings ?? advice?.readings ?? []} />)}
          {stagesSeen.map((s) => <StageLine key={s.id} stage={s} now={snapshot.now} />)}
        </ul>
      </section>

      <section class="sheet" aria-labelledby="ground-head">
        <h2 id="ground-head">The field</h2>
        <dl class="pairs">
          <dt>Limit</dt><dd>{field.limit_pct ? `${field.limit_pct} %` : '–'}</dd>
          <dt>Planted</dt><dd>{field.planted ? day(field.planted) : '–'}</dd>
          <dt>Maturity group or days</dt><dd>{field.relative_maturity ?? '–'}</dd>
          <dt>Ripe, as the owner says</dt><dd>{field.mature ? day(field.mature) : '–'}</dd>
          <dt>Evenness</dt><dd>{field.evenness || '–'}</dd>
          {(field.shares ?? []).map((s) => <><dt key={s.party}>Share of {s.name}{s.role ? `, ${s.role}` : ''}</dt><dd>{s.num} of {s.den}</dd></>)}
        </dl>
        <h3>Ways in</h3>
        {(field.entrances ?? []).length === 0 && <p>None given; any machine is taken to get in.</p>}
        <ul>
          {(field.entrances ?? []).map((e) => (
            <li key={e.name}><strong>{e.name}</strong>: {[e.width_ft && `${units.length(e.width_ft)} wide`, e.height_ft && `${units.length(e.height_ft)} high`, e.limit_lb && `carries ${units.weight(e.limit_lb)}`].filter(Boolean).join(', ') || 'no measure given'}. {e.note}</li>
          ))}
        </ul>
      </section>

      <section aria-labelledby="loads-head">
        <h2 id="loads-head">Loads from here</h2>
        {loads.length === 0 ? <p>None among the newest loads.</p> : <ul class="rows">{loads.map((l) => <li key={l.id}><LoadRow load={l} snapshot={snapshot} /></li>)}</ul>}
      </section>
    </Page>
  );
}

function OutlookPart({ outlook, readings, snapshot, name }: { outlook: Outlook; readings: Reading[]; snapshot: FarmSnapshot; name: string }) {
  const zone = snapshot.farm.zone;
  const horizon = snapshot.outlook.map((o) => o.on).toSorted().at(-1) ?? null;
  const fit = outlook.days.find((d) => d.odds_fit >= 0.5);
  return (
    <>
      {(outlook.stale ?? []).map((s) => <Notice key={s} kind="caution" word="Old."><span>{s}</span></Notice>)}
      <p>{fit ? <>Can be cut {fit.day === dayOf(outlook.as_of, zone) ? 'today' : day(fit.day)}: {odds(fit.odds_fit)}.</> : 'No single day yet has even odds.'}</p>
      <Fan outlook={outlook} zone={zone} horizon={horizon} name={name} readings={readings.map((r) => ({ at: Date.parse(r.at), pct: Number(r.moisture_pct), error: errorOf(evidenceOf(r, outlook.readings ?? [], zone)) }))} />
      <More what="how it was made">
        <ul>
          {outlook.weather && <li>Forecast: {outlook.weather}.</li>}
          {outlook.outlook_entered && <li>Entered: your outlook days, {age(outlook.outlook_entered, snapshot.now)}.</li>}
          {outlook.observed_until && <li>Measured: weather up to {when(outlook.observed_until, zone)}.</li>}
          {(outlook.maturity ?? []).map((m) => <li key={m}>Maturity: {m}</li>)}
          {(outlook.assumed ?? []).map((a) => <li key={a.what}>Assumed: {a.what}, {a.value} ({a.from}).</li>)}
        </ul>
      </More>
    </>
  );
}

interface Loss { day: string; loss_pct: number; fit_pct: number }

function Losses({ losses }: { losses: Loss[] }) {
  if (losses.length < 2) return null;
  const points = losses.map((l) => ({ x: (Date.parse(l.day) - Date.parse(losses[0]!.day)) / 86_400_000, y: l.loss_pct, label: day(l.day).split(' ')[1] ?? '' }));
  return (
    <section class="sheet" aria-labelledby="loss-head">
      <h2 id="loss-head">What is lost by waiting</h2>
      <Curve points={points} format={(v) => `${v} %`} label="Percent of the crop lost, standing and at the machine, if it is cut that day. Days on which hardly anything can be cut are left out."
        sentence={`Cut first it loses ${pct(losses[0]!.loss_pct)} of the crop; on ${day(losses.at(-1)!.day)} ${pct(losses.at(-1)!.loss_pct)}.`} />
      <More what="the numbers">
        <Scroll label="Losses by day"><table>
          <thead><tr><th scope="col">Cut</th><th scope="col">Crop lost</th><th scope="col">Fit in</th></tr></thead>
          <tbody>{losses.map((l) => <tr key={l.day}><th scope="row">{day(l.day)}</th><td>{pct(l.loss_pct)}</td><td>{Math.round(Math.min(98, Math.max(2, l.fit_pct)))} in 100 weathers</td></tr>)}</tbody>
        </table></Scroll>
      </More>
    </section>
  );
}

/** evidenceOf finds what the model made of a reading. */
function evidenceOf(r: Reading, evidence: Evidence[], zone: string): Evidence | undefined {
  return evidence.find((e) => (e.said_pct ?? Number(/^[\d.]+/.exec(e.what)?.[0])) === Number(r.moisture_pct) && e.what.includes(when(r.at, zone)));
}

/** errorOf is the standard error the model gave a reading: what it took the field's own from before to after. */
function errorOf(e: Evidence | undefined): number | undefined {
  if (!e?.before_sd_pct || !e.after_sd_pct || e.after_sd_pct >= e.before_sd_pct) return undefined;
  return 1 / Math.sqrt(1 / e.after_sd_pct ** 2 - 1 / e.before_sd_pct ** 2);
}

function ReadingLine({ reading: r, snapshot, evidence }: { reading: Reading; snapshot: FarmSnapshot; evidence: Evidence[] }) {
  const moved = evidenceOf(r, evidence, snapshot.farm.zone);
  return (
    <li class="num">
      <strong>{printed(r.moisture_pct)} %</strong> by {r.device}{r.name ? ` “${r.name}”` : ''}, {when(r.at, snapshot.farm.zone)} ({age(r.at, snapshot.now)}){r.zone && r.zone !== 'whole' ? `, ${zones.find(([z]) => z === r.zone)?.[1] ?? r.zone}` : ''}{r.spots ? `, ${count(r.spots, 'spot')}` : ''}{r.by ? `, entered by ${r.by}` : ''}. {r.note}
      {moved && <span class="second"> Moved the field from {pct(moved.before_pct)} to {pct(moved.after_pct)}{moved.doubted ? '; doubted' : ''}. {moved.why}</span>}
      {(r.waits ?? []).length > 0 && <strong> Waits for a look.</strong>}
    </li>
  );
}

function StageLine({ stage: s, now }: { stage: Stage; now: string }) {
  return <li class="num"><strong>{stages.find(([k]) => k === s.stage)?.[1] ?? s.stage}</strong>{s.plants_pct !== null ? `, ${s.plants_pct} % of plants` : ''}, seen {day(s.on)} ({age(`${s.on}T12:00:00Z`, now)}){s.zone ? `, ${s.zone}` : ''}. {s.note}</li>;
}

/** text drops what was left empty, so that a body holds what was typed and nothing else. */
export const text = (v: Record<string, string>, ...keys: string[]) => Object.fromEntries(keys.filter((k) => (v[k] ?? '').trim() !== '').map((k) => [k, v[k]!.trim()]));

/** localInput is now on the farm's clock, as a box for day and time holds it. */
export function localInput(snapshot: FarmSnapshot): string {
  return snapshot.farm.as_of ? snapshot.now.slice(0, 16) : localTime(new Date()).slice(0, 16);
}
const withAt = (v: Record<string, string>) => (v['at'] ? { at: v['at'].replace('T', ' ') } : {});

function AddReading({ field, snapshot, onDone }: { field: Field; snapshot: FarmSnapshot; onDone: () => void }) {
  const names = [...new Set(snapshot.readings.map((r) => r.name).filter(Boolean))];
  const items: Item[] = [
    { name: 'moisture', label: 'Moisture', kind: 'decimal', unit: '%', needed: true, range: ranges.moisture, hint: '0 to 60 %, wet basis' },
    { name: 'spots', label: 'Spots sampled', kind: 'decimal', range: ranges.spots, hint: 'how many went into it' },
    { name: 'device', label: 'Read with', choices: devices, picks: true },
    { name: 'name', label: 'Which one', hint: names.length ? `so far: ${names.join(', ')}` : 'each meter and each bite has its own lean, which is learned', wide: true },
    { name: 'zone', label: 'Where', choices: zones, extra: true },
    { name: 'at', label: 'When', kind: 'datetime-local', hint: 'left empty: now', extra: true },
    { name: 'note', label: 'Note', wide: true, extra: true },
  ];
  return (
    <Entry name={`reading-${field.id}`} type="reading" path={`/fields/${field.id}`} items={items} button="Save reading" onDone={onDone} extraWord="where, when and a note"
      initial={{ moisture: '', spots: '', device: 'meter', name: '', zone: '', at: snapshot.farm.as_of ? localInput(snapshot) : '', note: '' }}
      say={(v) => `${v['moisture']} % in ${field.name}`}
      check={(v) => { const at = checkDay('When', v['at'] ?? '', dayOf(snapshot.now, snapshot.farm.zone)); return at ? { at } : {}; }}
      body={(v) => ({ field: field.id, device: v['device'], ...text(v, 'moisture', 'name', 'spots', 'zone', 'note'), ...withAt(v) })} />
  );
}

function AddStage({ field, snapshot, onDone }: { field: Field; snapshot: FarmSnapshot; onDone: () => void }) {
  const fits = stages.filter(([k]) => (field.crop === 'soybean' ? /^R|brown|green/ : field.crop === 'corn' ? /^R5|^R6|dent|black/ : /ripe|green/).test(k));
  const today = localInput(snapshot).slice(0, 10);
  const items: Item[] = [
    { name: 'stage', label: 'What was seen', choices: fits, needed: true, wide: true },
    { name: 'plants', label: 'Of the plants', kind: 'decimal', unit: '%', range: ranges.percent, hint: 'left empty: about half' },
    { name: 'on', label: 'Day', kind: 'date', needed: true },
    { name: 'zone', label: 'Where', choices: zones.slice(0, 3), wide: true },
    { name: 'note', label: 'Note', wide: true },
  ];
  return (
    <Entry name={`stage-${field.id}`} type="stage" path={`/fields/${field.id}`} items={items} button="Save stage" onDone={onDone}
      initial={{ stage: fits[0]?.[0] ?? 'ripe', plants: '', on: today, zone: '', note: '' }} say={(v) => `${v['stage']} in ${field.name}`}
      check={(v) => { const on = checkDay('Day', v['on'] ?? '', dayOf(snapshot.now, snapshot.farm.zone)); return on ? { on } : {}; }}
      body={(v) => ({ field: field.id, ...text(v, 'stage', 'on', 'plants', 'zone', 'note') })} />
  );
}
