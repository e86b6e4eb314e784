// SPDX-License-Identifier: GPL-3.0-or-later
// Which view stands in the middle of the sheet at which stage. A stage that is not named here shows the drawn limb.
import type { ComponentType } from "preact";
import type { Limb } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { RingView } from "./ring.tsx";
import type { Rules } from "./rules.ts";
import { StrengthView } from "./strength.tsx";

export interface StageViewProps {
    desk: Desk;
    limb: Limb;
    rules: Rules;
}

export const stageViews: { [stage: string]: ComponentType<StageViewProps> | undefined } = {
    ring: RingView,
    strength: StrengthView,
};
