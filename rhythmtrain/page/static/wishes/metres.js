// The metres one can choose from, where none is known.

export const METRES = ["2/4", "3/4", "4/4", "2/2", "3/8", "6/8", "9/8", "12/8", "5/4", "5/8", "7/8"].map((each) => [each, each]);
