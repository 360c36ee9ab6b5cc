// On the pages after signing out or being erased: nothing stays on the device.
import { emptyDevice } from "./device.js";

emptyDevice();
