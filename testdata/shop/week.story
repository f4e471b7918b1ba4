# An invented week of two people. Ann mills and sands, Ben bores, glues and
# finishes. Each line is one scan or one tap; the floor after each half day is
# what the shop must then see.

# Monday: rough cuts, then the wood rests over night.
Mon 07:50 Ann: print tickets
Mon 08:00 Ann crosscut: Stile
Mon 08:20 Ann crosscut: 2 blanks Top rail
Mon 08:30 Ann crosscut: Bottom rail
Mon 09:00 Ann rip: Stile
Mon 09:20 Ann rip: Top rail
Mon 09:40 Ann rip: Bottom rail
Mon 10:00 Ben wrap: Inset panel
Mon 10:05 Ben: skip Batten; step nothing is left -- bought finished
Mon 11:00 Ann joint: Stile ! waiting
floor Mon 12:00
  at the crosscut saw: Back stile left, rough length: 1 ready
  at the crosscut saw: Back stile right, rough length: 1 ready
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the crosscut saw: Slat, rough length: 5 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Back stile left, Back stile right, Slat panel
  at the glue bench: Locker front, dry fit: 0 ready, 4 waiting for Stile, Top rail, Bottom rail
  at the glue bench: Slat panel, dry fit: 0 ready, 1 waiting for Slat
  at the jointer: Bottom rail, joint a face and an edge: 0 ready, 5 waiting
  at the jointer: Stile, joint a face and an edge: 0 ready, 9 waiting
  at the jointer: Top rail, joint a face and an edge: 0 ready, 5 waiting
  for their assembly: 1 Batten
  for their assembly: 4 Inset panel
  labels to print: 1
  resting until Tue 09:00: 9 Stile
  resting until Tue 09:20: 5 Top rail
  resting until Tue 09:40: 5 Bottom rail
Mon 13:00 Ann crosscut: Back stile left
Mon 13:05 Ann crosscut: Back stile right
Mon 13:10 Ann crosscut: Slat
Mon 13:40 Ann rip: Back stile left
Mon 13:45 Ann rip: Back stile right
Mon 13:50 Ann rip: Slat
# A cart for what will be coated, and a rest that a person cuts short.
Mon 16:00 Ben: cart
Mon 16:30 Ann joint: Bottom rail; early -- It has moved enough
floor Mon 17:00
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Back stile left, Back stile right, Slat panel
  at the glue bench: Locker front, dry fit: 0 ready, 4 waiting for Stile, Top rail, Bottom rail
  at the glue bench: Slat panel, dry fit: 0 ready, 1 waiting for Slat
  at the jointer: Back stile left, joint a face and an edge: 0 ready, 1 waiting
  at the jointer: Back stile right, joint a face and an edge: 0 ready, 1 waiting
  at the jointer: Slat, joint a face and an edge: 0 ready, 5 waiting
  at the jointer: Stile, joint a face and an edge: 0 ready, 9 waiting
  at the jointer: Top rail, joint a face and an edge: 0 ready, 5 waiting
  at the rip saw: Bottom rail, rip to width: 5 ready
  for their assembly: 1 Batten
  for their assembly: 4 Inset panel
  labels to print: 1
  resting until Tue 09:00: 9 Stile
  resting until Tue 09:20: 5 Top rail
  resting until Tue 13:40: 1 Back stile left
  resting until Tue 13:45: 1 Back stile right
  resting until Tue 13:50: 5 Slat

# Tuesday: made true, cut, bored. The last bottom rails come out of the saw one
# short; a plug, and the setup that was at fault.
Tue 09:30 Ann joint: Stile
Tue 09:40 Ann joint: Top rail
Tue 10:00 Ann rip: Stile; checked
Tue 10:20 Ann rip: Top rail
Tue 10:30 Ann rip: Bottom rail; checked
Tue 10:50 Ann plane: Stile
Tue 11:00 Ann plane: Top rail
Tue 11:10 Ann plane: Bottom rail
Tue 11:30 Ann crosscut: check Stile; step cut to length
Tue 11:40 Ann crosscut: Stile
floor Tue 12:00
  at the crosscut saw: Bottom rail, cut to length: 5 ready
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the crosscut saw: Top rail, cut to length: 5 ready
  at the drill: Stile, bore: 9 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Back stile left, Back stile right, Slat panel
  at the glue bench: Locker front, dry fit: 0 ready, 4 waiting for Stile, Top rail, Bottom rail
  at the glue bench: Slat panel, dry fit: 0 ready, 1 waiting for Slat
  at the jointer: Back stile left, joint a face and an edge: 0 ready, 1 waiting
  at the jointer: Back stile right, joint a face and an edge: 0 ready, 1 waiting
  at the jointer: Slat, joint a face and an edge: 0 ready, 5 waiting
  for their assembly: 1 Batten
  for their assembly: 4 Inset panel
  labels to print: 1
  resting until Tue 13:40: 1 Back stile left
  resting until Tue 13:45: 1 Back stile right
  resting until Tue 13:50: 5 Slat
Tue 13:00 Ann crosscut: 2 blanks Top rail; checked
Tue 13:20 Ann crosscut: 4 Bottom rail; checked
Tue 13:25 Ann crosscut: lost 1 Bottom rail; step cut to length; instead spare -- torn out at the end
Tue 14:00 Ben bore: 4 Stile; checked
Tue 14:20 Ben bore: plug Stile 3; spot left end, hole 2 -- the stop had slipped
Tue 14:22 Ben bore: doubt Stile; because Stile 3
Tue 14:40 Ben bore: Stile; checked
Tue 15:00 Ben bore: clear Stile 1
Tue 15:01 Ben bore: clear Stile 2
Tue 15:02 Ben bore: plug Stile 4; spot left end, hole 2 -- same stop
Tue 15:30 Ben bore: Top rail; checked
Tue 15:50 Ben bore: Bottom rail; checked
Tue 16:10 Ben bore: remake Top rail 2; spare Top rail 5 -- split
# Ben's phone had no network at four o'clock.
Tue 16:00 Ann joint: Back stile left; told 40m later
Tue 16:50 Ben bore: Stile 3
floor Tue 17:00
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the drill: Stile, trim flush, bore again: 0 ready, 1 waiting
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Back stile left, Back stile right, Slat panel
  at the glue bench: Locker front, dry fit: 0 ready, 4 waiting for Stile
  at the glue bench: Slat panel, dry fit: 0 ready, 1 waiting for Slat
  at the glue bench: Stile, glue dowels in: 8 ready
  at the jointer: Back stile right, joint a face and an edge: 1 ready
  at the jointer: Slat, joint a face and an edge: 5 ready
  at the rip saw: Back stile left, rip to width: 1 ready
  for their assembly: 1 Batten
  for their assembly: 4 Bottom rail
  for their assembly: 4 Inset panel
  for their assembly: 4 Top rail
  in repair: Stile 4, trim flush, bore again
  labels to print: 9
  setting until Tue 17:02: 1 Stile

# Wednesday: glue-up, one tap a frame; one frame is chosen part by part, and a
# part of the wrong line is refused.
Wed 07:45 Ben bore: Stile 4
Wed 08:00 Ben glue: Stile
Wed 08:20 Ben glue: Locker front 1 ! parts-missing
Wed 09:10 Ben glue: Locker front 1; step glue up, clamps on
Wed 09:40 Ben glue: Locker front 2; with Stile 5 & Slat 1 ! does-not-fit
Wed 09:41 Ben glue: Locker front 2; with Stile 5 & Stile 6
Wed 09:55 Ben glue: Locker front 2
Wed 10:30 Ben glue: Locker front 3; step glue up, clamps on
Wed 10:40 Ben sand: Locker front 1 ! waiting
Wed 11:00 Ann joint: Back stile right
Wed 11:10 Ann joint: Slat
floor Wed 12:00
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Back stile left, Back stile right, Slat panel
  at the glue bench: Locker front, dry fit: 1 ready for Stile, Top rail, Bottom rail, Inset panel
  at the glue bench: Slat panel, dry fit: 0 ready, 1 waiting for Slat
  at the rip saw: Back stile left, rip to width: 1 ready
  at the rip saw: Back stile right, rip to width: 1 ready
  at the rip saw: Slat, rip to width: 5 ready
  at the sanding bench: Locker front, sand: 0 ready, 3 waiting
  for their assembly: 1 Batten
  for their assembly: 1 Bottom rail
  for their assembly: 1 Inset panel
  for their assembly: 1 Top rail
  for their assembly: 3 Stile
  labels to print: 9
  setting until Thu 09:10: 1 Locker front
  setting until Thu 09:55: 1 Locker front
  setting until Thu 10:30: 1 Locker front
Wed 13:00 Ben glue: Locker front 4
Wed 13:10 Ben glue: apart Locker front 4
Wed 13:20 Ben: hold Stile 8 -- crack at the end
Wed 13:30 Ann rip: Back stile left; checked
Wed 13:40 Ann rip: Back stile right
Wed 13:50 Ann rip: Slat; checked
Wed 14:00 Ann plane: Back stile left
Wed 14:10 Ann plane: Back stile right
Wed 14:20 Ann plane: Slat
Wed 14:40 Ann crosscut: Back stile left
Wed 14:45 Ann crosscut: Back stile right
Wed 14:50 Ann crosscut: Slat; checked
Wed 14:55 Ann crosscut: undo Slat
Wed 15:00 Ann crosscut: Slat; checked
Wed 15:20 Ben bore: Back stile left
Wed 15:30 Ben bore: Back stile right
Wed 15:40 Ben bore: Slat
Wed 16:00 Ben: release Stile 8
Wed 16:10 Ben glue: Locker front 4; step glue up, clamps on
Wed 16:40 Ben glue: Slat panel 1; step glue up, clamps on
floor Wed 17:00
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Slat panel
  at the sanding bench: Locker front, sand: 0 ready, 4 waiting
  at the sanding bench: Slat panel, sand: 0 ready, 1 waiting
  for their assembly: 1 Back stile left
  for their assembly: 1 Back stile right
  for their assembly: 1 Slat
  for their assembly: 1 Stile
  in clamps until Wed 17:10: 1 Locker front
  in clamps until Wed 17:40: 1 Slat panel
  labels to print: 9
  setting until Thu 09:10: 1 Locker front
  setting until Thu 09:55: 1 Locker front
  setting until Thu 10:30: 1 Locker front

# Thursday: sanding, and the first coats with one tap for the cart.
Thu 10:00 Ann sand: mend Locker front 2; defect squeeze-out; spot inside corner
Thu 10:10 Ann sand: Locker front 2
Thu 10:30 Ann sand: Locker front 1
Thu 10:45 Ann sand: Locker front 2
Thu 11:00 Ann sand: Locker front 3
Thu 11:05 Ann sand: load Locker front 1; on Cart 1
Thu 11:06 Ann sand: load Locker front 2; on Cart 1
Thu 11:07 Ann sand: load Locker front 3; on Cart 1
Thu 11:30 Ben stain: Cart 1
floor Thu 12:00
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Slat panel
  at the sanding bench: Locker front, sand: 0 ready, 1 waiting
  at the sanding bench: Slat panel, sand: 0 ready, 1 waiting
  at the staining bench: Locker front, stain, second coat: 0 ready, 3 waiting
  drying until Thu 23:30: 3 Locker front
  for their assembly: 1 Back stile left
  for their assembly: 1 Back stile right
  for their assembly: 1 Slat
  for their assembly: 1 Stile
  labels to print: 9
  setting until Thu 16:10: 1 Locker front
  setting until Thu 16:40: 1 Slat panel
Thu 13:00 Ben stain: Cart 1 ! waiting
Thu 16:50 Ann sand: Locker front 4
floor Thu 17:00
  at the crosscut saw: Peg rail, rough length: 2 ready
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Slat panel
  at the sanding bench: Slat panel, sand: 1 ready
  at the staining bench: Locker front, stain, first coat: 1 ready
  at the staining bench: Locker front, stain, second coat: 0 ready, 3 waiting
  drying until Thu 23:30: 3 Locker front
  for their assembly: 1 Back stile left
  for their assembly: 1 Back stile right
  for their assembly: 1 Slat
  for their assembly: 1 Stile
  labels to print: 9

# Friday: second coat, a drip is sanded back, one goes out and comes back.
Fri 07:30 Ben stain: Cart 1
Fri 07:50 Ben stain: Locker front 4
Fri 08:00 Ann: newer Slat; step ease the edges; at bore
Fri 09:00 Ben: skip Peg rail; step wrap -- finished at another shop
Fri 09:10 Ann wrap: Peg rail
Fri 09:20 Ann: deliver
floor Fri 12:00
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Slat panel
  at the sanding bench: Slat panel, sand: 1 ready
  at the staining bench: Locker front, stain, second coat: 0 ready, 1 waiting
  delivered: 2
  drying until Fri 19:30: 3 Locker front
  drying until Fri 19:50: 1 Locker front
  for their assembly: 1 Back stile left
  for their assembly: 1 Back stile right
  for their assembly: 1 Slat
  for their assembly: 1 Stile
  in the booth: Locker front, topcoat, first coat: 0 ready, 3 waiting
  labels to print: 11
Fri 14:00 Ben: return Peg rail 1; defect tear-out; spot lower corner -- dropped when it was hung
Fri 14:30 Ann sand: Peg rail 1
Fri 15:40 Ann wrap: Peg rail 1
Fri 15:45 Ann: deliver
Fri 16:00 Ann: scrap Stile 9 -- used for a test joint
Fri 16:10 Ben: mend Locker front 4; defect blotch; coats stain, first coat; side show face
Fri 16:20 Ann sand: Locker front 4 ! waiting
floor Fri 17:00
  at the glue bench: Bench back, screw together: 0 ready, 1 waiting for Slat panel
  at the sanding bench: Locker front, sand back: 0 ready, 1 waiting
  at the sanding bench: Slat panel, sand: 1 ready
  delivered: 2
  drying until Fri 19:30: 3 Locker front
  drying until Fri 19:50: 1 Locker front
  for their assembly: 1 Back stile left
  for their assembly: 1 Back stile right
  for their assembly: 1 Slat
  in repair: Locker front 4, sand back
  in the booth: Locker front, topcoat, first coat: 0 ready, 3 waiting
  labels to print: 10
