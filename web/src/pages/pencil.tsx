// The pencil: sums with no farm set up, worked out on the device by the same code as the command line's.
import { useEffect, useState } from 'preact/hooks';
import type { Trouble } from '../api';
import { Box, Notice, Page, RowLink } from '../parts/ui';
import { useDraft } from '../settings';
import { number } from '../units';
import { capital } from '../words';
import { pencil, type Pencil, type PencilFlag, pencils } from '../wasm';

function useList(): Pencil[] | string | null {
  const [list, set] = useState<Pencil[] | string | null>(null);
  useEffect(() => {
    pencils().then(set, () => set('The sums are not on this device yet. Open this page once while the farm’s computer answers; from then on they work without it.'));
  }, []);
  return list;
}

export function Pencils() {
  const list = useList();
  if (!Array.isArray(list)) return <Page title="Pencil"><p role="status">{list ?? 'Sharpening it…'}</p></Page>;
  const groups = [...new Set(list.map((p) => p.group))];
  return (
    <Page title="Pencil" under={<p class="second">Each sum shows its formula and its source. None needs a farm, or a network.</p>}>
      {groups.map((g) => (
        <section key={g} aria-label={g || 'Sums'}>
          {g && <h2>{capital(g)}</h2>}
          <ul class="rows">{list.filter((p) => p.group === g).map((p) => <li key={p.name}><RowLink to={`/more/pencil/${p.name}`} name={capital(p.name)} say={p.summary} /></li>)}</ul>
        </section>
      ))}
    </Page>
  );
}

export function PencilPage({ name }: { name: string }) {
  const list = useList();
  const it = Array.isArray(list) ? list.find((p) => p.name === name) : undefined;
  if (!Array.isArray(list)) return <Page title={capital(name)}><p role="status">{list ?? 'Sharpening it…'}</p></Page>;
  if (!it) return <Page title="No such sum"><p>The pencil has no “{name}”. <a href="/more/pencil">All sums</a></p></Page>;
  return (
    <Page title={capital(it.name)} under={<p class="second">{it.summary}</p>}>
      {it.detail && <p>{it.detail}</p>}
      <Sum it={it} />
      <p><a href="/more/pencil">All sums</a></p>
    </Page>
  );
}

type Doc = Record<string, unknown>;

function Sum({ it }: { it: Pencil }) {
  const flags = it.flags ?? [];
  const [values, change] = useDraft(`pencil-${it.name}`, Object.fromEntries(flags.map((f) => [f.name, ''])));
  const [got, set] = useState<{ doc?: Doc; trouble?: Trouble } | null>(null);
  const box = (f: PencilFlag) => (
    <Box key={f.name} id={`pencil-${f.name}`} label={capital(f.name.replace(/-/g, ' '))} value={values[f.name] ?? ''} onInput={(v) => change({ [f.name]: v })} required={f.needed}
      {...((f.choices ?? []).length ? { choices: [['', f.needed ? 'choose' : 'not said'], ...f.choices!.map((c) => [c, c] as [string, string])] as [string, string][] } : {})}
      hint={`${f.help}${f.example ? ` As ${f.example}.` : ''}`} wide={f.list}
      {...(got?.trouble && (got.trouble.where === f.name || got.trouble.label === `--${f.name}`) ? { wrong: `${got.trouble.say} ${got.trouble.next ?? ''}` } : {})} />
  );
  const work = async (e: Event) => {
    e.preventDefault();
    const args = flags.flatMap((f) => (values[f.name]?.trim() ? [`--${f.name}=${values[f.name]!.trim().replace('−', '-')}`] : []));
    const r = await pencil(it.name, args).catch((): { error: Trouble } => ({ error: { rule: 'away', say: 'The sums are not on this device yet.' } }));
    set('ok' in r && r.ok ? { doc: r.ok } : { trouble: r.error! });
  };
  const atBox = got?.trouble && flags.some((f) => f.name === got.trouble?.where || `--${f.name}` === got.trouble?.label);
  const rest = flags.filter((f) => !f.needed);
  return (
    <form onSubmit={work} noValidate>
      <div class="boxes">{flags.filter((f) => f.needed).map(box)}</div>
      {rest.length > 0 && (flags.some((f) => f.needed) ? <details open={rest.some((f) => values[f.name]) || undefined}><summary>what may be said besides</summary><div class="boxes">{rest.map(box)}</div></details> : <div class="boxes">{rest.map(box)}</div>)}
      <div class="actions"><button class="button primary">Work it out</button></div>
      <div role="status" id="sum">
        {got?.trouble && !atBox && <Notice kind="stop" word="No answer."><span>{got.trouble.say} {got.trouble.next}</span></Notice>}
        {got?.doc && <Answer doc={got.doc} />}
      </div>
    </form>
  );
}

const units: [RegExp, string][] = [
  [/_wb_pct$/, '% wet basis'], [/_db_pct$/, '% dry basis'], [/_pct_per_point$/, '% a point'], [/_pct$/, '%'], [/_acres_per_hour$/, 'acres an hour'], [/_bushels_per_hour$/, 'bu an hour'], [/_usd_per_bu$/, '$ a bushel'],
  [/_bu_per_acre$/, 'bu an acre'], [/_usd$/, '$'], [/_lb$/, 'lb'], [/_min$/, 'minutes'], [/_mph$/, 'mph'], [/_kpa$/, 'kPa'], [/_c$/, '°C'], [/_f$/, '°F'], [/_bu$/, 'bu'], [/_ft$/, 'ft'],
];
function named(key: string): { name: string; unit: string } {
  const [end, unit] = units.find(([r]) => r.test(`_${key}`)) ?? [/$^/, ''];
  const name = `_${key}`.replace(end, '').replace(/^_/, '').replace(/_/g, ' ');
  return { name: capital(name || key.replace(/_/g, ' ')), unit };
}
const shown = (v: unknown): string => (typeof v === 'number' ? number(v, Number.isInteger(v) ? 0 : Math.abs(v) < 1 ? 3 : Math.abs(v) < 100 ? 2 : 0) : typeof v === 'boolean' ? (v ? 'yes' : 'no') : v === null ? '–' : String(v));

function Answer({ doc }: { doc: Doc }) {
  const { formula, sources, cautions, assumed, ...figures } = doc as Doc & { formula?: string[]; cautions?: string[]; assumed?: unknown[]; sources?: { key: string; title: string; publisher: string; year?: string; how: string }[] };
  const plain = Object.entries(figures).filter(([, v]) => v === null || typeof v !== 'object');
  const lists = Object.entries(figures).filter((e): e is [string, Doc[]] => Array.isArray(e[1]) && e[1].length > 0);
  return (
    <div class="sheet">
      <dl class="pairs">{plain.map(([k, v]) => { const n = named(k); return <><dt>{n.name}</dt><dd><strong class="wide">{shown(v)}</strong> {n.unit}</dd></>; })}</dl>
      {lists.map(([k, rows]) => (
        <div class="scroll" role="region" aria-label={named(k).name} tabIndex={0} key={k}>
          {typeof rows[0] !== 'object' ? <ul>{rows.map((r) => <li key={String(r)}>{String(r)}</li>)}</ul> : (
            <table><caption>{named(k).name}</caption>
              <thead><tr>{Object.keys(rows[0]!).map((c) => { const n = named(c); return <th scope="col" key={c}>{n.name}{n.unit ? `, ${n.unit}` : ''}</th>; })}</tr></thead>
              <tbody>{rows.map((r, i) => <tr key={i}>{Object.keys(rows[0]!).map((c) => <td key={c}>{shown(r[c])}</td>)}</tr>)}</tbody>
            </table>
          )}
        </div>
      ))}
      {(formula ?? []).length > 0 && <><h3>How</h3><ul>{formula!.map((f) => <li key={f}>{f}</li>)}</ul></>}
      {(assumed ?? []).length > 0 && <><h3>Assumed</h3><ul>{assumed!.map((a, i) => <li key={i}>{typeof a === 'string' ? a : Object.values(a as object).join(', ')}</li>)}</ul></>}
      {(cautions ?? []).map((c) => <Notice key={c} kind="caution" word="Mind."><span>{c}</span></Notice>)}
      {(sources ?? []).length > 0 && <><h3>Source</h3><ul>{sources!.map((s) => <li key={s.key}>{s.title}, {s.publisher}{s.year ? ` ${s.year}` : ''} [{s.key}]</li>)}</ul></>}
    </div>
  );
}
