-- SPDX-License-Identifier: GPL-3.0-or-later
-- What papers say of the shop: who made the limb, where, by which telephone, and the statement as its local law words it.

ALTER TABLE store ADD COLUMN shop_name @text;
ALTER TABLE store ADD COLUMN shop_address @text;
ALTER TABLE store ADD COLUMN shop_telephone @text;
ALTER TABLE store ADD COLUMN shop_statement @text;
