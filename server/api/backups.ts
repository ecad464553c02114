import type { Backups } from '../store/backups.ts';
import { backupElsewhere } from '../store/engine.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export function backupHandlers(backups: Backups): Pick<Handlers, 'listBackups' | 'startBackup'> {
  const view = () => {
    const { settings, running, lastFailure, sameDisk, elsewhere } = backups.state();
    return {
      ...settings,
      running,
      elsewhere,
      sameDisk,
      lastFailure: lastFailure === null ? null : { at: toInstant(lastFailure.at), message: lastFailure.message },
      backups: backups.list().map(({ name, at, bytes }) => ({ name, at: toInstant(at), bytes })),
    };
  };
  return {
    async listBackups() {
      return view();
    },
    async startBackup() {
      if (backups.state().elsewhere) throw new RequestProblem('bad-request', backupElsewhere);
      if (backups.state().settings.folder === null) {
        throw new RequestProblem(
          'bad-request',
          'No folder for backups is set: set COOMB_BACKUP_FOLDER and restart coomb.',
        );
      }
      // how it went is on the list and in the log
      backups.make().catch(() => undefined);
      return view();
    },
  };
}
