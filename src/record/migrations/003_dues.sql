-- SPDX-License-Identifier: GPL-3.0-or-later
-- What is due of a limb and when, as JSON, held in its line for lists: a child's forecast is worked out when its readings
-- change and not at every look at the list. NULL until the limb's line is next written.

ALTER TABLE limb ADD COLUMN dues @text;
