// The screens in a real browser: a ball in three touches, the whole loop of student and
// coach in two windows with files, axe-core without a serious finding, both colour schemes,
// three sizes. Called by tests/run; by hand:
//
//   CHROMIUM=/usr/bin/chromium node tests/browser/screens.mjs target/debug/chalkface SHOTS
//
// The last argument, a folder for pictures, may be left out.
import { spawn } from "node:child_process";
import { mkdtemp, mkdir } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { createRequire } from "node:module";
import { readFile } from "node:fs/promises";
import { chromium } from "playwright-core";

const [binary, shots] = process.argv.slice(2).map((one) => path.resolve(one));
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const folder = await mkdtemp(path.join(tmpdir(), "chalkface-"));
if (shots) await mkdir(shots, { recursive: true });
const face = new URL("../replays/face.jpg", import.meta.url).pathname;
const served = [];

const serve = (book) => new Promise((resolve, reject) => {
  const child = spawn(binary, ["--book", book, "serve"], { cwd: folder });
  served.push(child);
  child.once("error", reject);
  child.stdout.on("data", (data) => {
    const link = /http:\S+/.exec(data.toString());
    if (link) resolve(link[0]);
  });
});

const check = (right, what) => {
  if (!right) throw new Error(what);
  console.log("ok  " + what);
};

// What a person sees and does.
class Person {
  constructor(page, name) { this.page = page; this.name = name; }
  async settled() {
    await this.page.waitForLoadState("load");
    await this.page.waitForFunction(() => !document.querySelector("[data-busy]"), undefined, { timeout: 300000 });
  }
  turn() { return this.page.locator(".screen").getAttribute("data-turn"); }
  // Does something and waits until the core has answered.
  async does(what) {
    const before = await this.turn();
    await what();
    await this.page.waitForFunction((turn) => document.querySelector(".screen").dataset.turn !== turn, before, { timeout: 120000 });
    await this.settled();
  }
  press(key) { return this.does(() => this.page.locator(`[data-key="${key}"]`).first().click()); }
  starts(key) { return this.does(() => this.page.locator(`[data-key^="${key}"]`).first().click()); }
  async writes(key, text) {
    const answered = this.page.waitForResponse((answer) => answer.url().endsWith("/act"));
    await this.page.locator(`[data-key="${key}"]`).fill(text);
    await answered;
  }
  async taps(across, down) {
    await this.page.locator(".pad svg").scrollIntoViewIfNeeded();
    const box = await this.page.locator(".pad svg").boundingBox();
    await this.does(() => this.page.mouse.click(box.x + across * box.width, box.y + down * box.height));
  }
  text() { return this.page.locator("#app").innerText(); }
  async looks(name) {
    await this.page.evaluate(axe);
    const found = await this.page.evaluate(() => globalThis.axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
    const bad = found.violations.filter((one) => ["serious", "critical"].includes(one.impact));
    check(bad.length === 0, `axe-core: ${this.name}, ${name}` + bad.map((one) => `\n  ${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html).join("\n    ")}`).join(""));
    const small = await this.page.evaluate(() => [...document.querySelectorAll("button, input:not([type=hidden]), textarea, .button, summary")]
      .filter((one) => one.checkVisibility() && !one.matches("[type=file]"))
      .map((one) => ({ key: one.dataset.key || one.textContent, box: one.getBoundingClientRect() }))
      .filter((one) => one.box.height < 47.5 || one.box.width < 47.5).map((one) => `${one.key} ${one.box.width}x${one.box.height}`));
    check(small.length === 0, `targets of 48: ${this.name}, ${name} ${small.join("; ")}`);
    const wide = await this.page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    check(wide <= 0, `nothing is cut off at the side: ${this.name}, ${name}`);
    if (shots) await this.page.screenshot({ path: path.join(shots, `${this.name}-${name}.png`), fullPage: true });
  }
}

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
try {
  const phone = { width: 360, height: 800 }, laptop = { width: 1280, height: 800 };
  const open = async (book, name, options) => {
    const context = await browser.newContext({ acceptDownloads: true, permissions: ["clipboard-read", "clipboard-write"], ...options });
    const page = await context.newPage();
    const wrong = [];
    page.on("console", (message) => { if (message.type() === "error") wrong.push(message.text()); });
    page.on("pageerror", (error) => wrong.push(String(error)));
    await page.goto(await serve(book));
    const person = new Person(page, name);
    person.wrong = wrong;
    await person.settled();
    return person;
  };
  const student = await open("student.book", "student", { viewport: phone, colorScheme: "light" });
  const coach = await open("coach.book", "coach", { viewport: laptop, colorScheme: "dark" });

  await student.looks("first-use");
  await student.writes("name", "Mina Aalto");
  await student.press("begin");
  await student.looks("today-empty");
  await student.press("tab.ball");
  await student.looks("a-ball-empty");
  const began = await student.turn();
  await student.taps(0.42, 0.45);
  await student.starts("ball.flight/1:1");
  await student.looks("a-ball-tapped");
  await student.press("ball.save");
  check(Number(await student.turn()) - Number(began) <= 4, "a ball is logged in three touches (and its buzz)");
  check((await student.text()).includes("Ball 1 saved"), "it says that it was saved");
  for (let ball = 0; ball < 11; ball++) {
    await student.taps(0.6 + 0.02 * (ball % 4), 0.6 + 0.03 * (ball % 3));
    await student.starts(`ball.flight/${(ball % 3) - 1}:1`);
    await student.press("ball.save");
  }
  await student.looks("a-ball");
  await student.press("ball.picture");
  await student.looks("picture-empty");
  await student.press("picture.take");
  await student.does(() => student.page.locator("input[type=file]").setInputFiles(face));
  await student.page.locator(".stage image").evaluate((image) => image.decode?.());
  await student.looks("picture");
  const drags = async (point, x, y) => {
    await student.page.locator(".stage").scrollIntoViewIfNeeded();
    const from = await student.page.locator(`[data-point="${point}"]`).boundingBox();
    const stage = await student.page.locator(".stage svg").boundingBox();
    await student.page.mouse.move(from.x + from.width / 2, from.y + from.height / 2);
    await student.page.mouse.down();
    const [left, top, across, down] = (await student.page.locator(".stage svg").getAttribute("viewBox")).split(" ").map(Number);
    await student.page.mouse.move(stage.x + (x - left) * stage.width / across, stage.y + (y - top) * stage.height / down, { steps: 4 });
    if (shots && point === "sole") await student.page.screenshot({ path: path.join(shots, "student-picture-dragged.png") });
    await student.does(() => student.page.mouse.up());
  };
  for (const [point, x, y] of [["heel", 425.5, 182], ["toe", 213.5, 156], ["crown", 326, 117], ["sole", 306.5, 215.5]]) await drags(point, x, y);
  check((await student.text()).includes("as you set them"), "the ends were dragged");
  await student.does(() => student.page.locator('[data-point="mark0"]').press("Enter"));
  await student.does(() => student.page.locator('[data-point="mark0"]').press("ArrowLeft"));
  check((await student.text()).includes("Set by you"), "a mark is moved by the arrow keys");
  await student.looks("picture-set");
  await student.press("picture.save");
  check((await student.text()).includes("3 balls logged"), "the picture's marks are balls");
  await student.press("tab.strikes");
  await student.looks("strikes");
  await student.press("strikes.sessions");
  await student.starts("sessions.list/");
  await student.looks("session");
  await student.starts("session.balls/");
  await student.looks("ball");
  await student.press("shot.readings");
  await student.looks("readings");
  await student.press("tab.more");
  await student.looks("the-rest");
  await student.press("more.speed");
  await student.looks("speed");
  await student.press("back");

  // One's file is saved, and picked by the other.
  const hands = async (from, to, pick, ending) => {
    const download = from.page.waitForEvent("download");
    await from.page.locator(".asked a").click();
    const file = path.join(folder, `${from.name}.${ending}`);
    await (await download).saveAs(file);
    await from.does(() => from.page.getByRole("button", { name: "I have handed it over" }).click());
    await to.press(pick);
    await to.does(() => to.page.locator("input[type=file]").setInputFiles(file));
  };
  const news = async (from, to) => {
    await hands(from, to, "take_in.pick", "chalk");
    await to.looks("take-in");
    await to.press("take_in.take");
  };
  await coach.press("role/coach");
  await coach.writes("name", "Ruth Ferrand");
  await coach.press("begin");
  await coach.looks("students-empty");
  for (const one of [student, coach]) {
    await one.press("tab.more");
    await one.press("more.people");
  }
  await student.looks("people");
  // One card goes as a file, the other is copied and pasted.
  const pasted = async (from, to) => {
    const copy = from.page.getByRole("button", { name: "Copy it as text" });
    await from.page.evaluate(() => { navigator.clipboard.writeText = () => Promise.reject(new Error("the page may not")); });
    await copy.click();
    await from.page.locator(".notice", { hasText: "That did not work: the page may not" }).waitFor();
    await from.page.evaluate(() => { delete navigator.clipboard.writeText; });
    await from.press("people.share");
    await copy.click();
    await from.page.locator(".notice", { hasText: "Your card was handed over" }).waitFor();
    await to.writes("people.card", await from.page.evaluate(() => navigator.clipboard.readText()));
    await to.press("people.meet");
  };
  const unscripted = async (from) => {
    const context = await browser.newContext({ javaScriptEnabled: false });
    await context.addCookies(await from.page.context().cookies());
    const page = await context.newPage();
    await page.goto(new URL("/", from.page.url()).href);
    check(await page.locator(".asked a").isVisible(), "without a script a card is saved as a file");
    check(!(await page.locator("[data-copies]").isVisible()), "without a script nothing says that it copies");
    await context.close();
  };
  for (const [from, to] of [[student, coach], [coach, student]]) {
    await from.press("people.share");
    if (from === student) {
      await from.looks("card-asked");
      await unscripted(from);
    }
    await (from === coach ? pasted(from, to) : hands(from, to, "people.pick", "txt"));
    check((await to.text()).includes("is known now"), `${to.name} knows ${from.name}`);
  }
  await coach.page.locator('[data-key^="people.list/"]').nth(1).scrollIntoViewIfNeeded();
  await coach.does(() => coach.page.locator('[data-key^="people.list/"]').nth(1).click());
  await coach.looks("person");
  await coach.press("tab.students");
  await student.press("tab.more");
  await coach.press("students.take_in");
  await student.press("more.send");
  await student.press("send.make");
  await student.looks("send");
  await news(student, coach);
  check((await coach.text()).includes("Mina Aalto"), "the coach has the student");
  await coach.looks("students");
  await coach.starts("students.list/");
  await coach.looks("student");
  await coach.press("student.brief");
  await coach.looks("brief");
  await coach.press("back");
  await coach.press("student.lesson");
  await coach.looks("lesson");
  await coach.press("back");
  await coach.press("student.what_if");
  await coach.looks("what-if");
  await coach.press("back");
  await coach.press("student.shots");
  await coach.looks("balls");
  await coach.press("back");
  await coach.press("student.plan");
  await coach.press("plan.propose");
  await coach.looks("propose");
  await coach.press("propose.begin");
  await coach.looks("plan");
  await coach.starts("plan.drills/");
  await coach.looks("drill");
  await coach.press("back");
  await coach.press("back");
  await coach.press("student.send");
  await coach.press("send.make");
  await student.press("tab.more");
  await student.press("more.take_in");
  await news(coach, student);
  await student.press("tab.today");
  check((await student.text()).includes("Warm up"), "the student has the plan");
  await student.starts("do.begin.");
  await student.looks("today");
  await student.starts("do.");
  check((await student.text()).includes("Under way: 1 of"), "a repetition is counted");

  // The same pages in other sizes, colours and directions. Who goes to a tab twice is at its beginning.
  const root = async (person, tab) => { await person.press(tab); await person.press(tab); };
  const again = async (name, options, after) => {
    const person = new Person(await (await browser.newContext(options)).newPage(), name);
    await person.page.context().addCookies(await student.page.context().cookies());
    await person.page.goto(new URL("/", student.page.url()).href);
    await person.settled();
    if (after) await person.page.evaluate(after);
    for (const tab of ["today", "ball", "strikes"]) {
      await root(person, `tab.${tab}`);
      if (after) await person.page.evaluate(after);
      await person.looks(tab);
    }
    await person.page.context().close();
  };
  await again("dark-phone", { viewport: phone, colorScheme: "dark" });
  await again("sun-phone", { viewport: phone, contrast: "more" });
  await again("light-laptop", { viewport: laptop, colorScheme: "light" });
  await again("dark-tablet", { viewport: { width: 820, height: 1180 }, colorScheme: "dark" });
  await again("largest-text", { viewport: phone }, () => { document.documentElement.style.fontSize = "200%"; });
  await again("right-to-left", { viewport: phone }, () => { document.documentElement.dir = "rtl"; });

  // Somebody who plays left-handed sees the face and the turns of a ball the other way round.
  await root(student, "tab.more");
  await student.press("more.me");
  await student.looks("me");
  await student.press("me.hand/left");
  await student.press("me.save");
  await again("left-handed", { viewport: phone });
  // That page has gone on without this one.
  await student.page.reload();
  await student.settled();
  await student.press("tab.more");
  await student.press("me.hand/right");
  await student.press("me.save");

  // A copy of everything goes along; then the student erases it, and the coach hears of it.
  await root(student, "tab.more");
  await student.press("more.keep");
  await student.looks("copies-and-erasing");
  await student.press("keep.copy");
  await root(coach, "tab.more");
  await coach.press("more.take_in");
  await hands(student, coach, "take_in.pick", "json");
  check((await coach.text()).includes("From a copy of everything"), "a copy is looked into");
  await coach.press("take_in.take");
  await student.press("keep.all");
  await student.looks("erase-everything");
  await student.press("keep.all");
  await student.looks("nothing-left");
  await student.press("today.gone");
  await student.starts("gone.tell.");
  await coach.press("more.take_in");
  await news(student, coach);
  await coach.press("tab.students");
  check((await coach.text()).includes("No student yet"), "the coach's device has nothing of the student any more");
  await student.press("back");
  await student.press("today.anew");
  await student.press("new.add");
  check((await student.text()).includes("Begun anew"), "the student begins anew");
  for (const person of [student, coach]) check(person.wrong.length === 0, `no error in the console: ${person.wrong.join("; ")}`);
  console.log("the browser is content");
} finally {
  await browser.close();
  for (const child of served) child.kill();
}
