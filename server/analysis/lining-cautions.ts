type LiningCautionCode =
  | 'indicates-only'
  | 'foam-fire'
  | 'vapour-control'
  | 'eaves-gap'
  | 'cables'
  | 'old-coatings'
  | 'mould-first'
  | 'weight-and-fixing';

/** What anyone who lines a ceiling must hear, beside any number. Short; local codes and licensed practice decide. */
export interface Caution {
  readonly code: string;
  readonly message: string;
}

export interface LiningCaution extends Caution {
  readonly code: LiningCautionCode;
}

export const liningCautions: readonly LiningCaution[] = Object.freeze([
  {
    code: 'indicates-only',
    message:
      'These figures indicate, they do not certify. Edges, eaves and fixings are colder than the plain area worked out here.',
  },
  {
    code: 'foam-fire',
    message:
      'Foam inside a room must be covered by a lining with the fire performance your local code asks of ceilings. Thin wood or fibre panels may not have it; plasterboard of full thickness usually does. Ask building control.',
  },
  {
    code: 'vapour-control',
    message:
      'The lining makes everything behind it colder. Room air must not get there: tape joints, seal edges, sockets and fixings on the room side, and leave a sensor behind the lining.',
  },
  {
    code: 'eaves-gap',
    message: 'Never fill or cover the ventilation gap at the eaves and above the sloping ceiling.',
  },
  {
    code: 'cables',
    message:
      'Cables wrapped in insulation carry less current safely, and lamps let into it can overheat. Mains work belongs to a licensed electrician.',
  },
  {
    code: 'old-coatings',
    message:
      'Old textured coatings and boards may hold asbestos. Have them tested before drilling, scraping or screwing through them.',
  },
  {
    code: 'mould-first',
    message:
      'Find and stop leaks and remove mould before covering it. Protect lungs, skin and eyes; large or returning growth, or ill people in the home, call for professionals.',
  },
  {
    code: 'weight-and-fixing',
    message:
      'Fix the lining into the rafters, not into the old board alone, and check that they carry it. In the loft: boards to stand on, light, and care with heat and falls.',
  },
]);
