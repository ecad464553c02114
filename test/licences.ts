import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));

/** SPDX identifiers of licences that ask for no more than that their text comes along. */
export const allowedLicences: readonly string[] = [
  'MIT',
  'MIT-0',
  'ISC',
  '0BSD',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'Apache-2.0',
  'BlueOak-1.0.0',
  'Unlicense',
  'CC0-1.0',
  'WTFPL',
  // fonts: free to use, embed and pass on, not to sell by themselves
  'Bitstream-Vera',
];

/** Packages that name their licence nowhere but in its text, and words of that text. */
const byText: Readonly<Record<string, readonly [licence: string, words: RegExp]>> = {
  'png-js': ['MIT', /Permission is hereby granted, free of charge/],
  'dejavu-fonts-ttf': ['Bitstream-Vera', /Bitstream Vera Fonts Copyright/],
};

function licenceByText(name: string, folder: string): string | null {
  const known = byText[name];
  return known?.[1].test(readFileSync(`${folder}/LICENSE`, 'utf8')) ? known[0] : null;
}

/** A package that the program needs when it runs, by the lock file, with what its own package.json says of its licence. */
export interface PackageLicence {
  readonly name: string;
  readonly version: string;
  /** as the package says it; null: it says nothing */
  readonly licence: string | null;
}

interface LockedPackage {
  readonly dev?: boolean;
  readonly optional?: boolean;
  readonly version?: string;
}
interface PackageFile {
  readonly name: string;
  readonly version: string;
  readonly license?: string | { readonly type?: string };
  readonly licenses?: readonly { readonly type?: string }[];
}

/** @throws Error when a package that must be there is not installed */
export function productionLicences(): PackageLicence[] {
  const lock = JSON.parse(readFileSync(`${root}package-lock.json`, 'utf8')) as {
    packages: Record<string, LockedPackage>;
  };
  return Object.entries(lock.packages).flatMap(([path, { dev, optional }]) => {
    if (path === '' || dev) return [];
    const file = `${root}${path}/package.json`;
    // of other machines
    if (optional && !existsSync(file)) return [];
    const { name, version, license, licenses } = JSON.parse(readFileSync(file, 'utf8')) as PackageFile;
    const said =
      typeof license === 'string' ? license : (license?.type ?? licenses?.map(({ type }) => type).join(' OR '));
    return [{ name, version, licence: licenceByText(name, `${root}${path}`) ?? (said || null) }];
  });
}

/** Whether an expression of licences (SPDX) leaves a choice of which all parts are allowed. */
export function isAllowed(licence: string | null): boolean {
  if (licence === null) return false;
  if (allowedLicences.includes(licence)) return true;
  const plain = licence.replace(/^\((.*)\)$/, '$1');
  return plain
    .split(/ OR /i)
    .some((choice) => choice.split(/ AND /i).every((one) => allowedLicences.includes(one.trim())));
}
