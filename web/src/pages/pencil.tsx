// The pencil: sums with no farm set up, worked out on the device by the same code as the command line's.
import { useEffect, useState } from 'preact/hooks';
import { told, type Trouble } from '../api';
import { Box, Notice, Page, RowLink } from '../parts/ui';
import { system, useDraft } from '../settings';
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
  return (
    <Page title="Pencil" under={<p class="second">Each sum shows its formula and its source. None needs a farm, or a network.</p>}>
      {[...new Set(list.map((p) => p.shelf))].map((shelf) => (
        <section key={shelf} aria-labelledby={`shelf-${shelf}`}>
          <h2 id={`shelf-${shelf}`}>{capital(shelf)}</h2>
          <ul class="rows">{list.filter((p) => p.shelf === shelf).map((p) => <li key={p.name}><RowLink to={`/more/pencil/${p.name}`} name={p.title} say={p.summary === `${p.title}.` ? undefined : p.summary} /></li>)}</ul>
        </section>
      ))}
    </Page>
  );
}

export function PencilPage({ name }: { name: string }) {
  const list = useList();
  const it = Array.isArray(list) ? list.find((p) => p.name === name) : undefined;
  if (!Array.isArray(list)) return <Page title="Pencil"><p role="status">{list ?? 'Sharpening it…'}</p></Page>;
  if (!it) return <Page title="No such sum"><p>The pencil has no “{name}”. <a href="/more/pencil">All sums</a></p></Page>;
  return (
    <Page title={it.title} under={it.summary !== `${it.title}.` && <p class="second">{it.summary}</p>}>
      <Sum it={it} />
      {it.detail && it.detail.split('\n\n').map((p) => <p key={p} class="second">{p}</p>)}
      <p><a href="/more/pencil">All sums</a></p>
    </Page>
  );
}

interface Doc {
  said: { lead: string; is: string; rows: { name: string; value: string }[] };
  formula?: string[]; cautions?: string[]; assumed?: unknown[];
  sources?: { key: string; title: string; publisher: string; year?: string; how: string }[];
}

/** given is a box as the command line takes it: a switch alone, a list once for each line, an argument without its name. */
function given(f: PencilFlag, value: string): string[] {
  const text = value.trim().replace(/−/g, '-');
  if (text === '' || (f.switch && text !== 'yes')) return [];
  if (f.switch) return [f.name];
  const each = f.list ? text.split(/\n+/).map((line) => line.trim()).filter(Boolean) : [text];
  return each.map((one) => (f.name.startsWith('--') ? `${f.name}=${one}` : one));
}

function Sum({ it }: { it: Pencil }) {
  const [values, change] = useDraft(`pencil-${it.name}`, Object.fromEntries(it.flags.map((f) => [f.name, ''])));
  const [got, set] = useState<{ doc?: Doc; wrong?: Trouble[] } | null>(null);
  const at = (f: PencilFlag, t: Trouble) => t.label === f.name || t.label === f.label || t.where === f.name;
  const box = (f: PencilFlag) => {
    const wrong = got?.wrong?.find((t) => at(f, t));
    const choices = f.switch ? ['yes'] : f.choices;
    return (
      <Box key={f.name} id={`pencil-${f.name.replace(/^-+/, '')}`} label={f.label} value={values[f.name] ?? ''} onInput={(v) => change({ [f.name]: v })} required={f.needed} wide={f.list || f.file}
        {...(f.list || f.file ? { kind: 'long' as const } : {})}
        {...(choices.length > 0 ? { choices: [['', f.needed ? 'choose' : f.switch ? 'no' : 'not said'], ...choices.map((c) => [c, c])] as [string, string][] } : {})}
        hint={`${f.help}${f.file ? ' The text of the file.' : f.list ? ` One a line${f.example ? `, as ${f.example}` : ''}.` : f.example && choices.length === 0 ? ` As ${f.example}.` : ''}`}
        {...(wrong ? { wrong: `${wrong.say} ${wrong.next ?? ''}`.trim() } : {})} />
    );
  };
  const work = async (e: Event) => {
    e.preventDefault();
    const args = it.flags.flatMap((f) => given(f, values[f.name] ?? ''));
    const r = await pencil<Doc>(it.name, system() === 'metric' ? ['--metric', ...args] : args)
      .catch(() => ({ error: { rule: 'away', say: 'The sums are not on this device yet.' } as Trouble, findings: [] as Trouble[] }));
    set('ok' in r && r.ok ? { doc: r.ok } : { wrong: r.findings?.length ? r.findings : [r.error!] });
  };
  const unplaced = (got?.wrong ?? []).filter((t) => !it.flags.some((f) => at(f, t)));
  const needed = it.flags.filter((f) => f.needed);
  const rest = it.flags.filter((f) => !f.needed);
  const open = rest.some((f) => values[f.name] || (got?.wrong ?? []).some((t) => at(f, t)));
  return (
    <form onSubmit={work} noValidate>
      {needed.length > 0 && <div class="boxes">{needed.map(box)}</div>}
      {rest.length > 0 && (needed.length > 0 ? <details open={open || undefined}><summary>what may be said besides</summary><div class="boxes">{rest.map(box)}</div></details> : <div class="boxes">{rest.map(box)}</div>)}
      <div class="actions"><button class="button primary">Work it out</button></div>
      <div role="status" id="sum">
        {unplaced.map((t) => <Notice key={t.say} kind="stop" word="No answer."><span>{told(t)}</span></Notice>)}
        {got?.doc && <Answer doc={got.doc} flags={it.flags} />}
      </div>
    </form>
  );
}

/** boxed names a box as the page does where the command line names its flag. */
const boxed = (text: string, flags: PencilFlag[]) => text.replace(/--[a-z][a-z-]*/g, (f) => flags.find((one) => one.name === f)?.label ?? f);

function Answer({ doc, flags }: { doc: Doc; flags: PencilFlag[] }) {
  const { said, formula = [], assumed = [], cautions = [], sources = [] } = doc;
  return (
    <div class="sheet">
      <p><strong class="money num">{said.lead}</strong><br />{said.is}</p>
      {said.rows.length > 0 && <dl class="pairs">{said.rows.map((r) => <><dt>{r.name}</dt><dd>{r.value}</dd></>)}</dl>}
      {formula.length > 0 && <><h3>How</h3><ul class="num">{formula.map((f) => <li key={f}>{f}</li>)}</ul></>}
      {assumed.length > 0 && <><h3>Assumed</h3><ul>{assumed.map((a, i) => <li key={i}>{typeof a === 'string' ? boxed(a, flags) : Object.values(a as object).join(', ')}</li>)}</ul></>}
      {cautions.map((c) => <Notice key={c} kind="caution" word="Mind."><span>{c}</span></Notice>)}
      {sources.length > 0 && <><h3>Source</h3><ul>{sources.map((s) => <li key={s.key}>{s.title}, {s.publisher}{s.year ? ` ${s.year}` : ''} [{s.key}]</li>)}</ul></>}
    </div>
  );
}
