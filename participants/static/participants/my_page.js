// Every page of a participant: forms that wait, signing out, the time without a network.
import "./phone_forms.js";
import "./sign_out.js";
import "./offline.js";
import "./install.js";
import "./share_position.js";
