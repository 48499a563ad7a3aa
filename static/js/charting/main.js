// Starts the charting screen: opens what this tablet keeps, then lets every part draw itself from it.

import "../scanning/field.js";
import { attachDevice, stayOut } from "../tablet/device.js";
import { Charting } from "./app.js";
import { attachBefore } from "./before.js";
import { attachContact } from "./contact.js";
import { attachDay } from "./day.js";
import { attachFace } from "./face.js";
import { attachFlags } from "./flags.js";
import { attachKeys } from "./keys.js";
import { attachLegend } from "./legend.js";
import { attachMeasures } from "./measures.js";
import { attachMistake } from "./mistake.js";
import { attachNumbing } from "./numbing.js";
import { attachOcclusion } from "./occlusion.js";
import { attachOpening } from "./opening.js";
import { attachPictures } from "./pictures.js";
import { attachPlan } from "./plan.js";
import { attachPoints } from "./points.js";
import { attachQuarantine } from "./quarantine.js";
import { attachRecordPhotographs } from "./record_photographs.js";
import { attachRegions } from "./regions.js";
import { attachRoute } from "./route.js";
import { attachSaying } from "./say.js";
import { attachScanner } from "./scanner.js";
import { Screen } from "./screen.js";
import { attachSettings } from "./settings.js";
import { attachSigning } from "./signing.js";
import { attachStrip } from "./strip.js";
import { attachTabs } from "./tabs.js";
import { attachTotals } from "./sums.js";
import { attachTray } from "./tray.js";
import { attachWaiting } from "./waiting.js";

const part = (name) => document.querySelector(`[data-${name}]`);

function attachSession(screen) {
  attachFace(screen, part("face"));
  attachStrip(screen, part("strip"));
  attachTotals(screen, part("totals"));
  attachBefore(screen, part("before"));
  attachTray(screen, part("tray"));
  attachSettings(screen, part("settings"));
  attachTabs(part("tabs"));
  attachWaiting(screen, part("waiting"));
  attachPoints(screen, part("points"));
  attachPlan(screen, part("plan"));
  attachMistake(screen, part("points"));
  attachPictures(screen, part("pictures"));
  attachRecordPhotographs(screen, part("record-photographs"));
  attachRegions(screen, part("regions"));
  attachFlags(screen, part("flags"));
  attachMeasures(screen, part("note"));
  attachNumbing(screen, part("anaesthesia"));
  attachLegend(screen, part("legend"));
  attachOcclusion(screen, part("strip"));
  attachOpening(screen);
  attachScanner(screen);
  attachSigning(screen);
}

await stayOut();
const app = await Charting.open({ reference: document.body.dataset.reference });
// The lock listens first: behind its cover nothing is drawn.
await attachDevice(app);
const screen = new Screen(app);
attachSaying(screen, part("said"));
attachContact(screen);
attachDay(screen, part("day"));
attachQuarantine(screen, part("news"));
attachSession(screen);
attachKeys(screen);
attachRoute(screen);
part("loading").hidden = true;
