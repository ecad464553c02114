/** How much of a topic is in quarantine and was not read in yet. */
export interface QuarantineSize {
  readonly topic: string;
  readonly messages: number;
  /** of their payloads */
  readonly bytes: number;
}

/** Messages that were not understood and not kept either, because quarantine held as much as it may. */
export interface NotKept {
  /** whose: see `senderOf` */
  readonly sender: string;
  readonly messages: number;
  readonly firstAt: number;
  readonly lastAt: number;
}

export interface QuarantineBoundStore {
  quarantineSizes(): Promise<QuarantineSize[]>;
  /** Of the message that was set aside last of those still kept, read in or not; 0: there is none. */
  lastQuarantinedId(): Promise<number>;
  /** Since quarantine was last emptied, the most first. */
  quarantineNotKept(): Promise<NotKept[]>;
  /**
   * Removes messages that were not read in, oldest first and at most so many; gives how many. With the last one the
   * count of what was not kept begins anew.
   */
  removeQuarantined(limit: number): Promise<number>;
}
