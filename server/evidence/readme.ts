import { proves } from './covering.ts';

/** What README.txt of a pack says: how to check it, for someone who does not program. */
export const readmeText = (home: string, fingerprint: string): string => `EVIDENCE PACK: ${home}

What this is: raw sensor readings of a home, everything that was done to them, and the figures that were worked out from
them, so that you can check the figures without trusting whoever collected them.

Mind: people's presence, sleep and absence can be read out of temperature and humidity. Treat this as personal data.

START HERE
  data/report/report.pdf      the report: page one in plain words, then the working; report.html is the same as a page
  data/figures.csv            every figure that is reported, with its interval, formula and source
  data/method.txt             how they are worked out, in words, with every equation
  data/provenance/covering.txt  which days are sealed against later change, and what that proves
  data/readings/              the raw readings; data/story/ places, sensors, calibrations, phases, diary

HOW TO CHECK IT, FROM EASY TO THOROUGH
1 Nothing was damaged or changed since it was signed. Unpack the zip. On Linux, in its folder:
      sha256sum -c manifest-sha256.txt && sha256sum -c tagmanifest-sha256.txt
  on a Mac: shasum -a 256 -c with the same files. Every line must end in OK.
2 Who signed it (needs OpenSSL 3):
      openssl pkeyutl -verify -pubin -inkey signature/public-key.pem -rawin -in signature/statement.txt -sigfile signature/statement.sig
  It must say "Signature Verified Successfully". statement.txt names the digest of tagmanifest-sha256.txt
  (sha256sum tagmanifest-sha256.txt) and the fingerprint of the key. Ask whoever gave you this pack, by telephone or on
  paper, for that fingerprint. It should be:
      ${fingerprint}
3 The figures follow from the readings. With Python 3 and nothing else:
      python3 check.py
  It checks the digests and the chain of days, and works dew-point margins, temperature factors and risk hours out anew,
  from the published equations and not with the program that made this pack.
4 Everything, with that program:  coomb verify FILE.zip   It works every figure out again and lists differences.

THE CHAIN OF DAYS, WITH COMMON TOOLS
Readings of one sensor that arrived on a day, as the lines that were summed up (here sensor 1, temperature_c):
      awk -F, 'FNR==1{q=$3;next} $1=="1" && q=="temperature_c" && $4=="2026-01-14"{print $1","q","$2","$3}' \\
        data/readings/*.csv | LC_ALL=C sort | sha256sum
  gives sha256 of that line in data/provenance/series-days.csv, where all of that day is in this pack.
A whole day:   grep '^2026-01-14,' data/provenance/series-days.csv | LC_ALL=C sort | sha256sum
  gives readings_sha256 in chain.csv. Lines of journal.txt summed up in the same way give changes_sha256.
An entry:      grep '^2026-01-14,' data/provenance/chain.csv | cut -d, -f1-7 | sha256sum
  gives the entry of that day, which is the previous of the next.

WHAT IT PROVES
${proves.join('\n')}

THE TABLES
CSV (RFC 4180, lines end in a line feed), UTF-8, described by data/datapackage.json (Table Schema). An empty cell is
unknown. A text that a spreadsheet could take for a formula (it begins with = + - @ and the like), or that has control
characters in it, is written as a JSON string in quotation marks; nothing else is changed. Times are UTC.
`;
