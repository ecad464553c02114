import { Command } from 'commander';
import { liningCommand } from '../../server/commands/lining.ts';

await new Command('coomb').addCommand(liningCommand()).parseAsync();
