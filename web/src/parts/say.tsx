// Saying something of an entry that is in the book already: take out, keep, merge, undo, each with its why.
import { told } from '../api';
import { useState } from 'preact/hooks';
import { needed } from '../checks';
import { save, useSync } from '../sync';
import { Box } from './ui';

interface SayProps { type: 'void' | 'keep' | 'undo' | 'merge'; of: string; into?: string; saw?: string; button: string; what: string; ask: string; onSaid?: () => void }

export function Say({ type, of, into, saw, button, what, ask, onSaid }: SayProps) {
  const [why, setWhy] = useState('');
  const [wrong, setWrong] = useState('');
  const [sent, setSent] = useState<string | null>(null);
  const answer = useSync().outbox.find((k) => k.id === sent)?.answer;
  if (sent) {
    return (
      <p role="status">
        {!answer ? <><strong>Saved on this device.</strong> It is sent when the farm’s computer answers.</>
          : answer.status === 'refused' ? <><strong>Not taken.</strong> {told(answer.error)}</>
          : <><strong>In the book.</strong> {answer.say || what}</>}
      </p>
    );
  }
  const submit = async (e: Event) => {
    e.preventDefault();
    if (!why.trim()) {
      setWrong(needed(ask));
      document.getElementById(`say-${type}-${of}`)?.focus();
      return;
    }
    setSent(await save(type, { of, why: why.trim(), ...(into ? { into } : {}), ...(saw ? { saw } : {}) }, what));
    onSaid?.();
  };
  return (
    <form onSubmit={submit} noValidate>
      <Box id={`say-${type}-${of}`} label={ask} value={why} onInput={setWhy} wrong={wrong} required wide />
      <div class="actions"><button class="button primary">{button}</button></div>
    </form>
  );
}
