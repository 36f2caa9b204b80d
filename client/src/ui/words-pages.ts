/** Texts of photographing the manual's pages; see words.ts. */
import { many } from "./words";

export const pagesWords = {
  title: "Photograph a page",
  photographIt: "Photograph its page",
  photographAgain: "Photograph its page again",
  intro:
    "Lay the manual flat on a bench that is darker than paper, in even light, and take the whole " +
    "page from straight above. Its corners are looked for; what leans is made straight.",
  take: "Take the picture",
  choose: "Choose a picture",
  retake: "Take it again",
  opening: "Looking for the page…",
  straightening: "Making it straight…",
  unreadable: "This device cannot read the file as a picture. Take a JPEG, PNG or WebP.",
  lost:
    "The page could not be made straight on this device. Try again; if it stays so, take a smaller " +
    "picture.",
  notHeld:
    "There is no room on this device for a second copy: do not leave this screen before the page is " +
    "kept.",
  stillHere: "This picture was taken before and is not kept as a page yet.",
  cornersTitle: "Corners of the page",
  cornersFound: "The corners look like this. Put right what is not: drag them, or use arrow keys.",
  cornersNotFound:
    "No page stands out from the bench. Drag the four corners to those of the page, or use arrow " +
    "keys.",
  corners: ["Upper left corner", "Upper right corner", "Lower right corner", "Lower left corner"],
  crossed: "The corners are crossed, or three are in a line: no page looks like that.",
  wholePicture: "Whole picture",
  straighten: "Make it straight",
  cornersAgain: "Corners again",
  turn: "Turn a quarter",
  look: "Look",
  looks: { plain: "As photographed", bright: "White paper", grey: "White paper, no colours" },
  picture: "The page, made straight",
  number: "Number of the page",
  numberHint: "As printed on it, if it is.",
  steps: "Which steps does it show?",
  otherSteps: "It shows other steps, too",
  stepsHint: "It comes up at each of them.",
  findStep: "Find a step",
  noSteps: "This kit has no steps yet: the page is kept all the same.",
  nothingFound: "No step is called so.",
  step: (number: string, title: string | null) =>
    title ? `Step ${number} ${title}` : `Step ${number}`,
  hasPage: (number: string | null) => (number ? `shows page ${number} now` : "shows a page now"),
  frames: "Only a part of the page?",
  framesHint: "A step shows all of the page, or only its own figure.",
  wholePage: "All of the page",
  ownFigure: "Its own figure",
  mark: (step: string) => `Mark the figure of step ${step}`,
  moveMark: (step: string) => `Move the mark of step ${step}`,
  unmark: (step: string) => `Show all of the page at step ${step}`,
  drawNow: (step: string) => `Draw a frame around the figure of step ${step}, on the page above.`,
  frame: {
    move: (label: string) => `${label}: move it with the arrow keys`,
    start: (label: string) => `${label}: upper left corner, moved with the arrow keys`,
    end: (label: string) => `${label}: lower right corner, moved with the arrow keys`,
    draw: "Draw a frame: press and drag, or Enter for one to be moved",
  },
  keep: (steps: number) => (steps > 0 ? `Keep it for ${many(steps, "step", "steps")}` : "Keep it"),
  keepFor: (step: string) => `Keep it for step ${step}`,
  keeping: "Keeping the page…",
  kept: (number: string | null, steps: number) =>
    `${number ? `Page ${number}` : "The page"} is kept on this device${
      steps > 0 ? `, for ${many(steps, "step", "steps")}` : ""
    }`,
  takenBack: "Taken back",
  noKit: "This kit is not on this device.",
  noKitHelp: "It may have been deleted, or has not been fetched yet.",
  back: "Kit",
  backToStep: (number: string) => `Step ${number}`,
} as const;
