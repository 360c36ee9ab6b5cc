"""People and what they bring. A person belongs to a leader, not to a trip."""

from participants.models.access import LINK_KINDS, AccessLink, Device, LinkPress, Submission
from participants.models.gear import SUPPORT_KINDS, Battery, Body, Converter, Lens, Piece, Support, Tube
from participants.models.person import LANGUAGES, UNITS, HealthNote, HealthReading, LeaderDetails, Participant
from participants.models.row import Row
