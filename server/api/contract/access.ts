import { z } from 'zod';
import { reach } from './portfolio.ts';
import { instant, name, slug } from './values.ts';

/**
 * Who may do an operation: the least one must be. `device`: a sensor, with its own account, as itself. `landlord`: who looks
 * after homes of others, for what is of no home alone.
 */
export const accessLevels = ['anyone', 'device', 'landlord', 'household', 'owner'] as const;
export type AccessLevel = (typeof accessLevels)[number];

/** What each may do: neither a device nor a landlord may do what only the other may. */
export const mayDo: { readonly [L in AccessLevel]: readonly AccessLevel[] } = Object.freeze({
  anyone: ['anyone'],
  device: ['anyone', 'device'],
  landlord: ['anyone', 'landlord'],
  household: ['anyone', 'device', 'landlord', 'household'],
  owner: accessLevels,
});

export const role = z.enum(['owner', 'household', 'landlord']).meta({
  description:
    'owner: everything; household: sees everything of its homes, writes the diary and answers notices, but changes neither the works nor who has access; landlord: sees of each home what its household has agreed to',
});

/** NIST SP 800-63B: length is what counts, no rules of composition; the least length is ours, no source. */
export const passphraseLength = Object.freeze({ least: 12, most: 200 });

/** One that is being chosen. */
const newPassphrase = z
  .string()
  .min(passphraseLength.least, `at least ${passphraseLength.least} characters: several words are good`)
  .max(passphraseLength.most)
  .meta({ description: 'several words; never given back' });
const givenPassphrase = z.string().min(1).max(passphraseLength.most);

export const accessState = z.object({
  guarded: z.boolean().meta({ description: 'whether one has to sign in; false until the first passphrase is set' }),
  signedIn: z.object({ name: z.string(), role, personId: z.int() }).nullable(),
});

export const signIn = z.strictObject({ name, passphrase: givenPassphrase });
export const firstOwner = z.strictObject({ name, passphrase: newPassphrase });
export const passphraseChange = z.strictObject({ current: givenPassphrase, next: newPassphrase });

export const person = z.object({ id: z.int(), name: z.string(), role, createdAt: instant, reach });
export const newPerson = z.strictObject({
  name,
  role,
  passphrase: newPassphrase,
  reach: reach.default({ kind: 'all' }).meta({ description: 'an owner reaches every home in any case' }),
});
export const reachChange = z.strictObject({ reach });
export const passphraseReset = z.strictObject({ passphrase: newPassphrase });

export const session = z.object({
  id: z.int(),
  personName: z.string(),
  browser: z.string(),
  startedAt: instant,
  usedAt: instant,
  current: z.boolean().meta({ description: 'the one that asks' }),
});

const deviceName = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,59}$/)
  .meta({ description: 'letters, digits, dot, hyphen, underscore' });

export const deviceAccount = z.object({
  id: z.int(),
  username: deviceName,
  sensorKey: z.string().nullable().meta({ description: 'the one sensor it may publish as; null: any of the dwelling' }),
  createdAt: instant,
  revokedAt: instant.nullable(),
});
export const newDeviceAccount = z.strictObject({
  username: deviceName,
  sensorKey: z.string().min(1).max(100).nullable().default(null),
});
export const deviceAccountMade = deviceAccount.extend({
  password: z.string().meta({ description: 'shown this once; only a digest of it is kept' }),
});

export const trailEntry = z.object({
  id: z.int(),
  at: instant,
  personName: z.string().nullable(),
  dwelling: slug.nullable(),
  action: z.string().meta({ description: 'name of the operation, or sign-in-refused, signed-in, signed-out' }),
  detail: z.record(z.string(), z.unknown()),
});
