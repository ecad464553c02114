/**
 * A ceiling before and after lining, as the people drew it up: the existing and the lined build-up under one name. The
 * document is the JSON text of the file that the lining command reads; the store looks only at whether it is JSON.
 */
export interface BuildUps {
  readonly id: number;
  readonly dwellingId: number;
  readonly name: string;
  readonly document: string;
  /** UTC milliseconds of the last change */
  readonly savedAt: number;
}

export interface BuildUpStore {
  /** In order of id. */
  buildUps(dwellingId: number): Promise<BuildUps[]>;
  addBuildUps(buildUps: Omit<BuildUps, 'id'>): Promise<BuildUps>;
  changeBuildUps(
    dwellingId: number,
    id: number,
    change: { readonly name?: string; readonly document?: string; readonly savedAt?: number },
  ): Promise<BuildUps>;
  removeBuildUps(dwellingId: number, id: number): Promise<void>;
}
