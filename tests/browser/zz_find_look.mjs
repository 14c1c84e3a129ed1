import { open } from "./house.mjs";
import { writeFileSync } from "node:fs";
const out = "/tmp/find-pics/";
const house = await open();
try {
  const desk = await house.page("lead", { viewport: { width: 1400, height: 900 } });
  const shot = async (p, name) => { await p.screenshot({ path: `${out}${name}.png`, fullPage: true }); };
  await desk.goto("/"); await shot(desk, "front_desk");
  await desk.goto("/find"); await shot(desk, "find_blank");
  await desk.goto("/find?words=gannet"); await shot(desk, "find_desk");
  await desk.goto("/find?words=zzyzx"); await shot(desk, "find_none");
  await desk.goto("/month"); await shot(desk, "month_desk");
  await desk.pdf({ path: `${out}month.pdf`, format: "A4", preferCSSPageSize: true });
  await desk.goto("/find?words=fixer");
  await desk.pdf({ path: `${out}find.pdf`, format: "A4", preferCSSPageSize: true });
  for (const look of ["dark", "red"]) {
    await desk.context().addCookies([{ name: "wetside_look", value: look, url: house.url }]);
    await desk.goto("/month"); await shot(desk, `month_${look}`);
    await desk.goto("/find?words=fixer"); await shot(desk, `find_${look}`);
  }
  const phone = await house.page("member", { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2 });
  await phone.goto("/#contents"); await phone.screenshot({ path: `${out}contents_phone.png` });
  await phone.goto("/find?words=gannet"); await shot(phone, "find_phone");
  await phone.goto("/month"); await shot(phone, "month_phone");
  console.log(await phone.evaluate(() => document.documentElement.scrollWidth));
  const newcomer = await house.page("newcomer", { viewport: { width: 1000, height: 900 } });
  await newcomer.goto("/find?words=fixer"); await shot(newcomer, "find_newcomer");
  console.log(desk.faults, phone.faults, newcomer.faults);
} finally { await house.close(); }
