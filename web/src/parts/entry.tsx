// A form that keeps what is typed, saves it as a command on the device, and shows at its boxes what the office says.
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { told, type Trouble } from '../api';
import { checkNumber, needed, type Range } from '../checks';
import { useDraft } from '../settings';
import { deal, save, useSync } from '../sync';
import { Box, Notice, Picks } from './ui';

export interface Item {
  name: string; label: string; needed?: boolean; wide?: boolean; unit?: string | undefined; hint?: string | undefined;
  kind?: 'text' | 'decimal' | 'date' | 'time' | 'datetime-local' | 'long'; range?: Range; choices?: [string, string][]; picks?: boolean;
  /** extra items stand behind "more of the ticket". */
  extra?: boolean;
}
export type Values = Record<string, string>;

interface EntryProps {
  /** The draft's name, also the first part of each box's id. */
  name: string; type: string; path: string; items: Item[] | ((v: Values) => Item[]); initial: Values; button: string; extraWord?: string; three?: boolean;
  /** What the person saved, in a few words. */
  say: (v: Values) => string;
  body: (v: Values) => Record<string, unknown>;
  check?: (v: Values) => Partial<Values>;
  /** The record that is corrected; without it something new is entered. */
  amend?: { of: string; saw: string; was: Values };
  onDone?: () => void;
  /** Shown between boxes and button. */
  children?: (v: Values, change: (some: Values) => void) => ComponentChildren;
}

/** changes are the keys of a body that differ, each as it should be; an emptied box takes the value out. */
function changes(was: Record<string, unknown>, now: Record<string, unknown>): Record<string, unknown> {
  const out: Record<string, unknown> = {};
  for (const key of new Set([...Object.keys(was), ...Object.keys(now)])) {
    if (JSON.stringify(was[key]) !== JSON.stringify(now[key])) out[key] = now[key] ?? '';
  }
  return out;
}

export function Entry(p: EntryProps) {
  const [values, change, clear] = useDraft(p.name, p.initial);
  const items = typeof p.items === 'function' ? p.items(values) : p.items;
  const [wrong, setWrong] = useState<Values>({});
  const [sent, setSent] = useState<{ id: string; values: Values; of: string; undo: 'void' | 'undo' } | null>(null);
  const [mending, setMending] = useState<string | null>(null);
  const [amend, setAmend] = useState(p.amend);
  const [saving, setSaving] = useState(false);
  const busy = useRef(false); // at once, where the state is a render late: a second press saves nothing more
  const sync = useSync();
  const kept = sync.outbox.find((k) => k.id === sent?.id);
  const answer = kept?.answer;
  const questions = answer?.status === 'doubt' ? answer.findings ?? [] : [];

  // What was refused comes back into its boxes, as it was typed.
  useEffect(() => {
    if (answer?.status !== 'refused' || !sent) return;
    change(sent.values);
    setWrong(atBoxes([answer.error, ...(answer.findings ?? [])], items));
    setMending(sent.id);
  }, [answer?.status]);

  const submit = async (e: Event) => {
    e.preventDefault();
    if (busy.current) return;
    const found: Values = {};
    for (const item of items) {
      const text = values[item.name] ?? '';
      const said = item.needed && text.trim() === '' ? needed(item.label) : item.kind === 'decimal' ? checkNumber(item.label, text, item.range) : undefined;
      if (said) found[item.name] = said;
    }
    Object.assign(found, p.check?.(values));
    if (amend && !(values['why'] ?? '').trim()) found['why'] = needed('Why');
    setWrong(found);
    const first = items.find((i) => found[i.name])?.name ?? (found['why'] ? 'why' : undefined);
    if (first) {
      document.getElementById(`${p.name}-${first}`)?.focus();
      return;
    }
    busy.current = true;
    setSaving(true);
    const form = { draft: p.name, values, path: p.path };
    try {
      let id: string;
      if (amend) {
        const change = changes(p.body(amend.was), p.body(values));
        if (Object.keys(change).length === 0) {
          setWrong({ why: 'Nothing was changed.' });
          return;
        }
        id = await save('correct', { of: amend.of, why: values['why'], change, ...(amend.saw ? { saw: amend.saw } : {}) }, `Correction: ${p.say(values)}`, form);
        setSent({ id, values, of: id, undo: 'undo' });
      } else {
        id = await save(p.type, p.body(values), p.say(values), form);
        setSent({ id, values, of: id, undo: 'void' });
      }
      if (mending) await deal(mending);
      setMending(null);
      setAmend(p.amend);
      clear();
    } catch (err) {
      setWrong({ [items[0]!.name]: `Not saved: this browser could not keep it (${String(err)}). What you typed still stands here.` });
    } finally {
      busy.current = false;
      setSaving(false);
    }
  };

  const record = answer?.record ?? sent?.of ?? '';
  const say = async (type: 'keep' | 'void', why: string, words: string) => {
    const id = await save(type, { of: record, why }, words);
    setSent({ id, values, of: id, undo: 'undo' });
  };
  const undo = async () => {
    if (!sent) return;
    const body = { of: sent.undo === 'void' ? record : sent.of, why: 'taken back right after it was entered' };
    const id = await save(sent.undo, body, `Undone: ${kept?.say ?? ''}`);
    setSent({ id, values, of: id, undo: 'undo' });
  };
  const changeIt = () => {
    if (!sent) return;
    setAmend({ of: record, saw: '', was: sent.values });
    change({ ...sent.values, why: '' });
    setWrong({});
    document.getElementById(`${p.name}-${items[0]!.name}`)?.focus();
  };

  const box = (item: Item) => {
    const at = { id: `${p.name}-${item.name}`, label: item.label, value: values[item.name] ?? '', onInput: (v: string) => change({ [item.name]: v }) };
    if (item.picks) return <Picks key={item.name} name={at.id} label={item.label} value={at.value} choices={item.choices ?? []} onPick={at.onInput} />;
    const ask = questions.find((q) => q.where === item.name);
    return (
      <Box key={item.name} {...at} {...(item.kind ? { kind: item.kind } : {})} {...(item.choices ? { choices: item.choices } : {})} {...(item.unit ? { unit: item.unit } : {})}
        {...(item.hint ? { hint: item.hint } : {})} {...(wrong[item.name] ? { wrong: wrong[item.name]! } : {})} {...(ask && !amend ? { doubt: ask.say } : {})} wide={item.wide ?? false} required={item.needed ?? false} />
    );
  };
  const extra = items.filter((i) => i.extra);
  return (
    <form onSubmit={submit} noValidate>
      <div class={`boxes ${p.three ? 'three' : ''}`}>{items.filter((i) => !i.extra).map(box)}</div>
      {extra.length > 0 && (
        <details open={extra.some((i) => (values[i.name] ?? '') !== (p.initial[i.name] ?? '') || wrong[i.name]) || undefined}>
          <summary>{p.extraWord ?? 'more'}</summary>
          <div class={`boxes ${p.three ? 'three' : ''}`}>{extra.map(box)}</div>
        </details>
      )}
      {p.children?.(values, change)}
      {amend && <Box id={`${p.name}-why`} label="Why it is corrected" value={values['why'] ?? ''} onInput={(why) => change({ why })} wrong={wrong['why'] ?? ''} wide required hint="The old entry stays readable beside the new one." />}
      {wrong[''] && <Notice kind="stop" word="Not taken." live><span>{wrong['']}</span></Notice>}
      <div class="actions">
        <button class="button primary" disabled={saving}>{amend ? 'Save correction' : p.button}</button>
        {p.onDone && <button type="button" class="button" onClick={p.onDone}>Close</button>}
      </div>
      {sent && (
        <div role="status" class="notice" id={`${p.name}-said`} data-status={answer?.status ?? 'kept'}>
          {!answer && <p><strong>Saved on this device.</strong> {kept?.say}. {sync.connected ? 'Sending it…' : 'It is sent when the farm’s computer answers.'}</p>}
          {(answer?.status === 'new' || answer?.status === 'same') && <p><strong>In the book.</strong> {answer.say || kept?.say}</p>}
          {answer?.status === 'refused' && <p><strong>Not taken.</strong> {told(answer.error)} What you typed stands in its boxes.</p>}
          {answer?.status === 'doubt' && !amend && (
            <>
              <p><strong>In the book, and worth a look.</strong> {answer.say}</p>
              {questions.map((q) => <p key={q.rule + q.say}><b>Is this right?</b> {told(q)}</p>)}
              <div class="actions">
                <button type="button" class="button" onClick={() => void say('keep', 'looked at when it was entered, and right', `Kept as it is: ${kept?.say ?? ''}`)}>It is right</button>
                <button type="button" class="button" onClick={changeIt}>Change it</button>
                <button type="button" class="button" onClick={() => void say('void', 'entered by mistake', `Taken out: ${kept?.say ?? ''}`)}>Take it out</button>
              </div>
            </>
          )}
          {answer?.status !== 'refused' && answer?.status !== 'doubt' && <button type="button" class="link" onClick={() => void undo()}>Undo</button>}
        </div>
      )}
    </form>
  );
}

/** atBoxes puts each sentence under the box it is about; what is about no box stands under ''. */
function atBoxes(troubles: (Trouble | null | undefined)[], items: Item[]): Values {
  const out: Values = {};
  for (const t of troubles) {
    if (!t) continue;
    const name = items.find((i) => i.name === t.where || i.label === t.label)?.name ?? '';
    out[name] ??= `${t.say}${t.next ? ` ${t.next}` : ''}`;
  }
  return out;
}
