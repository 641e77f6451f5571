// Partner lines at the desk: each has a tuning fork to hear it by.
import { takeOverPlayers } from "./players.js";

takeOverPlayers(document);
