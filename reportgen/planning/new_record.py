"""The text of a new record: every section there is, the plan filled in, the rest as comments."""

from __future__ import annotations

LIKE = """\
{line}
format: 1
batch: {batch}
name: {name}

plan:
  like: {like}
  # Write here only what differs from the plan of {like}. Lists are replaced as a whole.
  # fermenter_volume: 40 L
"""

PLAN = """\
{line}
# Every value is written with its unit. `reportgen check` says what is missing or wrong, and
# `reportgen figures` what to expect. The amounts below are a start to change, not advice. Of the
# lines that begin with # take those that you need: each can stand as it is without its mark.
format: 1
batch: {batch}
name: {name}

plan:
  # revision: 1
  # written_by: {person}
  kit: {kit}
  fermenter_volume: {volume}                # wort into the fermenter, at {sample}
  # aims: {{original_gravity: 1.048, bitterness: 25 IBU}}
  grist:
    - {{malt: {malt}, amount: {grist}}}
    # - {{malt: {malt}, amount: {some_malt}{malt_lot}}}
  liquor:
    blend:
      - {{liquor: {liquor}, share: 100 %}}
    mash_liquor: {mash}           # the sparge is computed to fill the kettle
{treatment}  mash:
    malt_temperature: {room}
    rests:
      - {{temperature: {rest}, time: 60 min}}
  run_off:
    sparge: {sparge}          # or: {other_sparges}
    sparge_temperature: {sparging}
    cut_off_gravity: 1.008         # where the runnings get too thin
  boil:
    time: 60 min
    hops:
      - {{hop: {hop}, amount: {hops}, time: 60 min}}
      # - {{hop: {hop}, amount: {some_hops}, time: 10 min{hop_lot}}}
    # finings:
    #   - {{fining: {fining}, amount: {some_fining}, time: 10 min}}
  cool: {{pitch_temperature: {cool}}}
  pitch:
    yeast: {yeast}
{harvests}  fermentation: {{temperature: {ferment}}}
  packaging:
    into: {into}                   # or: {other_kinds}
    carbonation: 2.2 vol
  # tolerances: {{kettle_volume: 4 %}}
  # notes: |
  #   Why this beer, and what to look out for.
"""

LATER = """\

# After the brew day. `reportgen blanks` lists the readings in the order of the sheet. Write yours
# in place of NOT RECORDED, which is for a reading that was forgotten; the words behind the second
# mark show how. A step that was left out is: not done because ...
# brew_day:
#   date: 2026-03-14
#   brewers: [{person}]
#   weighed:
#     - {{item: {malt}, amount: NOT RECORDED, at: 08:30, by: {person}}}      # {grist}
#   mash:
#     started: 09:10
#     strike_temperature: NOT RECORDED        # {read_strike}
#     mash_temperature: NOT RECORDED          # {{read: {read_mash}, at: 09:20, by: {person}}}
#     mash_ph: NOT RECORDED                   # {{read: 5.42, sample: {sample}}}
#   run_off:
#     started: 10:20
#     sparge_temperature: NOT RECORDED        # {read_sparge}
#     last_runnings_gravity: NOT RECORDED     # 1.009
#     kettle_volume: NOT RECORDED             # {{read: {kettle}, sample: {hot}}}, read hot
#     kettle_gravity: NOT RECORDED            # {{read: 1.040, sample: {sample}}}
#   boil:
#     started: 11:50
#     ended: 12:50
#   pitch:
#     fermenter_volume: NOT RECORDED          # {volume}
#     original_gravity: NOT RECORDED          # 1.048
#     pitch_temperature: NOT RECORDED         # {read_pitch}
#     yeast_amount: NOT RECORDED              # {some_yeast}
#   remarks: Anything else.

# fermentation:
#   log:
#     - {{at: 2026-03-15 18:00, gravity: NOT RECORDED, temperature: NOT RECORDED, by: {person}}}
#     - {{at: 2026-03-17 18:00, gravity: NOT RECORDED, note: Gas all but over.}}
#   final_gravity: NOT RECORDED               # {{read: 1.011, sample: {sample}}}
#   finished: 2026-03-21
#   harvest: {{at: 2026-03-22 10:00}}         # amount: {some_slurry}, stored_at: {cold}

# packaging:
#   date: 2026-03-22
#   packaged_volume: NOT RECORDED                      # {packed}
#   containers: 2
#   container_size: {container}
#   beer_temperature: NOT RECORDED            # {cellar}
#   pressure: NOT RECORDED      # {gauge}; in bottles and casks priming_sugar: {some_sugar}
#   best_before: 2026-09-30
#   label: What the label says{allergens}.

# analysis:                                   # of the packed beer, if it is measured
#   date: 2026-04-02
#   laboratory: own bench
#   bitterness: NOT RECORDED                  # 31 IBU; bitterness_uncertainty: 3 IBU
#   colour: NOT RECORDED                      # {some_colour}
#   alcohol: NOT RECORDED                     # 4.2 %
#   carbonation: NOT RECORDED                 # 2.25 vol

# tasting:
#   - date: 2026-04-10
#     assessors: [{person}]
#     scores: {{malty: 4, bitter: 3.5, body: 3}}
#     remarks: In the assessors' words.

# review:
#   deviations:
#     - figures: [kettle_volume]  # all that this one cause shows in
#       what: What happened.
#       cause: Why.
#       cause_certainty: probable        # or: known, unknown; a major one needs correction too
#       corrective_action: What prevents it next time.
#   # silenced:
#   #   - {{check: over-sparged, because: a trial of thin runnings}}
#   disposition: hold             # or: release, rework, regrade, scrap
#   decided_by: {person}
#   decided_on: 2026-04-11
#   learned: For the next plan.

# photos:
#   - {{file: photos/{batch}-mash.jpg, caption: What it shows.}}
"""

TREATMENT = """\
    # `reportgen treat` proposes salts and acid.
    # salts:
    #   - {{salt: {salt}, amount: {some_salt}, to: mash}}
    # acids:
    #   - {{acid: {acid}, amount: 5 mL, to: mash}}
"""

TREATED = """\
    # As `reportgen treat` proposes for this grist and liquor; ask it again after a change.
"""
