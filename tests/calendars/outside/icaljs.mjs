// Prints what ical.js finds in a calendar read from standard input: UID and day or UTC time, a line an occurrence or to-do.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";

const ICAL = createRequire(process.argv[2] + "/")("ical.js");
const api = ICAL.default ?? ICAL;
const whole = new api.Component(api.parse(readFileSync(0, "utf8")));
const show = (uid, time) =>
  console.log(`${uid} ${time.isDate ? time.toString() : time.toJSDate().toISOString().replace(".000Z", "+00:00")}`);
for (const zone of whole.getAllSubcomponents("vtimezone")) api.TimezoneService.register(zone);
for (const part of whole.getAllSubcomponents("vevent")) {
  const event = new api.Event(part);
  const next = event.iterator();
  for (let day = next.next(); day; day = next.next()) {
    show(event.uid, day);
    if (!event.isRecurring()) break;
  }
}
for (const part of whole.getAllSubcomponents("vtodo"))
  show(part.getFirstPropertyValue("uid"), part.getFirstPropertyValue("due"));
