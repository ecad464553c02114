import type { Row } from './by-english.ts';

/** German of names, formulas and sources that the server gives in English, by their English. */
const names: Readonly<Record<string, string>> = {
  'temperature factor f': 'Temperaturfaktor f',
  'change of f': 'Änderung von f',
  'mould index, highest': 'Schimmelindex, höchster',
  'mould index of outdoor air, highest': 'Schimmelindex der Außenluft, höchster',
  'vapour excess over outdoors': 'Dampfüberschuss gegen außen',
  'timber moisture estimated from the air, mean': 'Holzfeuchte, aus der Luft geschätzt, Mittel',
  'timber moisture, mean': 'Holzfeuchte, Mittel',
  'days over the limit': 'Tage über der Grenze',
  'common practice': 'übliche Praxis',
  'assumed: typical data sheet': 'angenommen: übliches Datenblatt',
};

/** Temperature factors that published guidance asks for, and where they are published. */
const targets: Readonly<Record<string, string>> = {
  'United Kingdom: dwellings, residential buildings, schools':
    'Vereinigtes Königreich: Wohnungen, Wohngebäude, Schulen',
  'United Kingdom: offices, shops': 'Vereinigtes Königreich: Büros, Läden',
  'United Kingdom: sports halls, kitchens, canteens, rooms with unflued gas heaters':
    'Vereinigtes Königreich: Sporthallen, Küchen, Kantinen, Räume mit Gasöfen ohne Abzug',
  'United Kingdom: swimming pools, laundries, breweries':
    'Vereinigtes Königreich: Schwimmbäder, Wäschereien, Brauereien',
  'United Kingdom: storage': 'Vereinigtes Königreich: Lager',
  'Germany: dwellings and similar use, 20 °C and 50 % indoors, -5 °C outdoors':
    'Deutschland: Wohnungen und ähnliche Nutzung, innen 20 °C und 50 %, außen −5 °C',
  'Netherlands: dwellings': 'Niederlande: Wohnungen',
  'Netherlands: other uses': 'Niederlande: andere Nutzungen',
  'Belgium: building nodes': 'Belgien: Bauteilanschlüsse',
  Switzerland: 'Schweiz',
  'Dutch building decree (Bouwbesluit)': 'niederländische Bauverordnung (Bouwbesluit)',
  'Belgian practice for building nodes': 'belgische Praxis für Bauteilanschlüsse',
  'chosen by the reader': 'selbst gewählt',
};

/** Materials and films of the table, and where their values come from. */
const materials: Readonly<Record<string, string>> = {
  plasterboard: 'Gipskarton',
  'plasterboard, light': 'Gipskarton, leicht',
  'gypsum plaster': 'Gipsputz',
  'lime and sand plaster': 'Kalkputz',
  'cement and sand render': 'Zementputz',
  softwood: 'Nadelholz',
  hardwood: 'Laubholz',
  plywood: 'Sperrholz',
  'oriented strand board': 'OSB-Platte',
  particleboard: 'Spanplatte',
  'fibreboard, 400 kg/m3': 'Holzfaserplatte, 400 kg/m³',
  'fibreboard, 600 kg/m3': 'Holzfaserplatte, 600 kg/m³',
  'fibreboard, 800 kg/m3': 'Holzfaserplatte, 800 kg/m³',
  'mineral wool': 'Mineralwolle',
  'rigid polyurethane foam': 'Polyurethan-Hartschaum',
  'phenolic foam': 'Phenolharzschaum',
  'expanded polystyrene': 'expandiertes Polystyrol',
  'extruded polystyrene': 'extrudiertes Polystyrol',
  'loose cellulose fibre': 'lose Zellulosefaser',
  'clay tile': 'Tondachziegel',
  slate: 'Schiefer',
  'bitumen felt': 'Bitumenbahn',
  'concrete, medium density': 'Beton mittlerer Rohdichte',
  steel: 'Stahl',
  'polyethylene film, 0.15 mm': 'Polyethylenfolie, 0,15 mm',
  'polyethylene film, 0.25 mm': 'Polyethylenfolie, 0,25 mm',
  'aluminium foil, 0.05 mm': 'Aluminiumfolie, 0,05 mm',
  'aluminium and polyethylene paper': 'Papier mit Aluminium und Polyethylen',
  'bituminous paper, 0.1 mm': 'Bitumenpapier, 0,1 mm',
  'breather membrane': 'diffusionsoffene Unterspannbahn',
  'gloss paint': 'Lackfarbe',
  'emulsion paint': 'Dispersionsfarbe',
  'vinyl wallpaper': 'Vinyltapete',
  'ISO 10456:2007, Table 3 (design values)': 'ISO 10456:2007, Tabelle 3 (Bemessungswerte)',
  'ISO 10456:2007, Table 4 (µ, c); λ typical of declared values, use the product’s own':
    'ISO 10456:2007, Tabelle 4 (µ, c); λ üblicher Nennwerte, nehmen Sie den des Produkts',
  'ISO 10456:2007, Table 5': 'ISO 10456:2007, Tabelle 5',
};

/** What the ways of reckoning moisture leave out. */
const limits: Readonly<Record<string, string>> = {
  'Air that leaks through joints, sockets and gaps is left out, and often carries far more vapour than diffusion does.':
    'Luft, die durch Fugen, Dosen und Ritzen strömt, bleibt außer Betracht; sie trägt oft weit mehr Dampf als die Diffusion.',
  'Materials are taken to store neither heat nor moisture; real timber, plaster and wool even out swings.':
    'Die Materialien speichern in der Rechnung weder Wärme noch Feuchte; Holz, Putz und Wolle gleichen Schwankungen in Wirklichkeit aus.',
  'Water that has settled stays where it is: no suction, no dripping.':
    'Wasser, das sich niedergeschlagen hat, bleibt, wo es ist: kein Saugen, kein Tropfen.',
  'Rain, leaks, rising damp and moisture built in are left out, and so are sun and clear-sky cooling.':
    'Regen, Undichtheiten, aufsteigende Feuchte und Baufeuchte bleiben außer Betracht, ebenso Sonne und Abkühlung unter klarem Himmel.',
  'Conductivities and vapour resistances do not change as materials become wet; heat of condensation is left out.':
    'Wärmeleitfähigkeit und Dampfwiderstand ändern sich nicht, wenn Materialien nass werden; Kondensationswärme bleibt außer Betracht.',
  'One straight path is followed, away from bridges, edges and the eaves.':
    'Verfolgt wird ein gerader Weg abseits von Wärmebrücken, Rändern und Traufe.',
  'Means of months are used; water that settles at night and dries by day is not seen.':
    'Gerechnet wird mit Monatsmitteln; Wasser, das nachts entsteht und tags trocknet, erscheint nicht.',
  'Vapour is worked out in every hour as if that hour lasted. Heat held by the layers is counted in the hours of a log, not at the design state or in months.':
    'Dampf wird in jeder Stunde so berechnet, als dauerte sie an. Wärme in den Schichten zählt in den Stunden eines Protokolls, nicht im Auslegungsfall und in den Monaten.',
  'No moisture is held by boards and timber, only water that has settled; real boards make the swings of humidity smaller.':
    'Platten und Holz halten keine Feuchte, es zählt nur Wasser, das sich niedergeschlagen hat; wirkliche Platten machen die Schwankungen kleiner.',
  'Leaking room air is taken to reach the whole hidden surface evenly and without warming it. A real leak wets the spot where it arrives.':
    'Einströmende Raumluft erreicht in der Rechnung die ganze verborgene Fläche gleichmäßig und ohne sie zu wärmen. Eine wirkliche Undichtheit nässt die Stelle, an der die Luft ankommt.',
  'The clear part between bridges is followed; eaves, edges and fixings are colder.':
    'Verfolgt wird der freie Teil zwischen Wärmebrücken; Traufe, Ränder und Befestigungen sind kälter.',
};

export const deMonths: Readonly<Record<string, string>> = {
  January: 'Januar',
  February: 'Februar',
  March: 'März',
  April: 'April',
  May: 'Mai',
  June: 'Juni',
  July: 'Juli',
  August: 'August',
  September: 'September',
  October: 'Oktober',
  November: 'November',
  December: 'Dezember',
};

/** A published target is named with where it holds. */
const published: readonly Row[] = ['BRE IP 1/06', 'DIN 4108-2', 'SIA 180', ...Object.keys(targets)].map((source) => [
  `${source}, {0}`,
  `${targets[source] ?? source}, {0}`,
]);

export const deTerms: readonly Row[] = [
  ...[names, targets, materials, limits, deMonths].flatMap((of) => Object.entries(of)),
  ...published,
];
