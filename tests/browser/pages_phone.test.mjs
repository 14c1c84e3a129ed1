import { everyPageAt } from "./every_page.mjs";

everyPageAt("phone");
