// SPDX-License-Identifier: GPL-3.0-or-later
// Which view stands in the middle of the sheet at which stage. A stage that is not named here shows the drawn limb.
import type { ComponentType } from "preact";
import type { Limb } from "./contract.ts";
import { CutView } from "./cut.tsx";
import { FastenView } from "./fasten.tsx";
import { FollowUpView } from "./follow_up.tsx";
import type { Desk } from "./limb_desk.ts";
import { FormView, PlanView, SetUpView } from "./plan.tsx";
import { ReleaseView } from "./release.tsx";
import { RingView } from "./ring.tsx";
import type { Rules } from "./rules.ts";
import { SettingsView } from "./settings.tsx";
import { StrengthView } from "./strength.tsx";
import { WalkView } from "./walk.tsx";

export interface StageViewProps {
    desk: Desk;
    limb: Limb;
    rules: Rules;
}

export const stageViews: { [stage: string]: ComponentType<StageViewProps> | undefined } = {
    plan: PlanView,
    "set-up": SetUpView,
    form: FormView,
    ring: RingView,
    cut: CutView,
    foot: SettingsView,
    standing: SettingsView,
    trials: WalkView,
    fasten: FastenView,
    release: ReleaseView,
    "follow-up": FollowUpView,
    strength: StrengthView,
};
