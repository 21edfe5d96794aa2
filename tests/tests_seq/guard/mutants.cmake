# SPDX-License-Identifier: MIT
# Seeded wrong versions of the guard: each is a copy of one source with one text replaced, compiled under another name
# into the same test program. A text that is not found exactly once stops the configuration: the mutant is stale.

set(guard_mutants "")
set(guard_mutant_declarations "")
set(guard_mutant_rows "")

# guard_mutant(FUNCTION "what is wrong" [[from]] [[to]] "property that catches it")
function(guard_mutant name wrong from to caught)
  set(source "${PROJECT_SOURCE_DIR}/tests_seq/guard/${name}.cpp")
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${source}")
  file(READ "${source}" text)
  string(FIND "${text}" "${from}" at)
  string(FIND "${text}" "${from}" last REVERSE)
  if(at EQUAL -1 OR NOT at EQUAL last)
    message(FATAL_ERROR "guard mutant \"${wrong}\": its text stands not exactly once in ${name}.cpp: ${from}")
  endif()
  string(REPLACE "${from}" "${to}" text "${text}")
  list(LENGTH guard_mutants number)
  math(EXPR number "${number} + 1")
  set(file "${CMAKE_CURRENT_BINARY_DIR}/mutants/${name}_${number}.cpp")
  file(CONFIGURE OUTPUT "${file}" CONTENT "${text}" @ONLY)
  set_source_files_properties("${file}" PROPERTIES COMPILE_DEFINITIONS "${name}=${name}_mutant_${number}"
                              COMPILE_OPTIONS "-Wno-unused-function;-Wno-unused-variable;-Wno-unused-parameter;-Wno-unused-but-set-parameter")
  list(APPEND guard_mutants "${file}")
  set(guard_mutants "${guard_mutants}" PARENT_SCOPE)
  set(signature_advance "Advanced advance_mutant_${number}(Machine const&, Findings const&, Request, Timers)")
  set(signature_judge "Judgement judge_mutant_${number}(BenchInputs const&, Watch const&, Declaration const&, StepLimits const&, Machine const&, Orders const&)")
  set(signature_observe "Watch observe_mutant_${number}(Watch const&, BenchInputs const&, Heard, Machine const&, Orders const&, std::uint16_t, Declaration const&, StepLimits const&)")
  string(APPEND guard_mutant_declarations "${signature_${name}};\n")
  set(guard_mutant_declarations "${guard_mutant_declarations}" PARENT_SCOPE)
  set(advance nullptr)
  set(judge "&judge")
  set(observe "&observe")
  set(${name} "&${name}_mutant_${number}")
  string(APPEND guard_mutant_rows "    {\"${wrong}\", \"${caught}\", ${advance}, {${judge}, ${observe}}},\n")
  set(guard_mutant_rows "${guard_mutant_rows}" PARENT_SCOPE)
endfunction()

# ---- advance -----------------------------------------------------------------------------------------------------
guard_mutant(advance "START closes a contactor with permissives missing"
  [[r == Request::close && f.permissives == Permissives::ready]]
  [[r == Request::close && f.permissives >= Permissives::secured]]
  "no contactor is ordered closed unless every permissive is fresh and true in this turn")
guard_mutant(advance "the second contactor closes on an old image"
  [[return f.permissives == Permissives::ready ? to_stage(m, Stage::second) : stay(m);]]
  [[return to_stage(m, Stage::second);]]
  "no contactor is ordered closed unless every permissive is fresh and true in this turn")
guard_mutant(advance "HOLD ignores trips"
  [[  if (falls(f)) return fall(m, f);
  if (f.earth != Earth::open) return to_tripped(m, f, 8);
  if (f.contactors != Contactors::both) return to_tripped(m, f, 11);
  if (stopping(r)) {]]
  [[  if (f.earth != Earth::open) return to_tripped(m, f, 8);
  if (f.contactors != Contactors::both) return to_tripped(m, f, 11);
  if (stopping(r)) {]]
  "any hazard takes all contactors off in the same turn")
guard_mutant(advance "TRIPPED is left without a reset"
  [[if (m.reset && m.acknowledged && f.store_empty)]]
  [[if (m.acknowledged && f.store_empty)]]
  "TRIPPED is left for SAFE_EARTHED only with cause gone, reset released and acknowledgement")
guard_mutant(advance "reset restarts"
  [[if (m.reset && m.acknowledged && f.store_empty) return to_safe_earthed(m, f);]]
  [[if (m.reset && m.acknowledged && f.store_empty) return enter(m, S::armed);]]
  "TRIPPED is left only for SAFE_EARTHED or LOCKOUT")
guard_mutant(advance "LOCKOUT is left by an acknowledgement"
  [[r == Request::release &&]]
  [[(r == Request::release || r == Request::acknowledge) &&]]
  "LOCKOUT is left only for UNKNOWN, by the supervisor, earthed, with the cause gone")
guard_mutant(advance "the warning is cut short"
  [[if (t.bound == Timer::expired) return enter(m, S::armed);]]
  [[if (t.dwell == Timer::expired) return enter(m, S::armed);]]
  "the earth opens only after the warning ran its time, with the area secured and contactors open")
guard_mutant(advance "a channel that reads zero proves LOW"
  [[(m.owed != Owed::proof && f.low == Low::unproven)]]
  [[f.low == Low::unproven]]
  "after energising, SAFE_EARTHED needs LOW proven by a channel seen to work")
guard_mutant(advance "ramp-down has no bound"
  [[return t.bound == Timer::expired ? to_tripped(m, f, 17) : stay(m);]]
  [[return stay(m);]]
  "ramp-down past its bound is category 0")
guard_mutant(advance "the gate unlocks while the unit discharges"
  [[o.lock = o.red = o.earth_open = o.resistor = true;]]
  [[o.red = o.earth_open = o.resistor = true;]]
  "the gate lock is released only with earth proven closed and contactors proven open in this turn")
guard_mutant(advance "TRIPPED forgets the resistor"
  [[    case S::tripped:
      o.lock = o.red = o.resistor = true;]]
  [[    case S::tripped:
      o.lock = o.red = true;]]
  "the discharge resistor is on in every state between energised and safe")
guard_mutant(advance "TRIPPED earths only after an acknowledgement"
  [[    if (f.earth != Earth::open || discharged(m, f, t)) return to_stage(m, Stage::second);
    if (t.bound == Timer::expired) return to_lockout(m, f, !f.direct_done]]
  [[    if (r == Request::acknowledge && discharged(m, f, t)) return to_stage(m, Stage::second);
    if (t.bound == Timer::idle) return to_lockout(m, f, !f.direct_done]]
  "from TRIPPED, healthy feedback, the earth is closed in bounded turns under any operator input")
guard_mutant(advance "an unbroken area is ready though volts are left"
  [[if (f.level == Level::zero && f.low == Low::proven && f.permissives >= Permissives::secured)]]
  [[if (f.level == Level::zero && f.permissives >= Permissives::secured)]]
  "an unbroken area ends ARMED without a declaration, only with zero, LOW proven and contactors open")
guard_mutant(advance "a weld during a normal stop is not noticed"
  [[  if (f.contactors == Contactors::stuck || f.contactors == Contactors::fused) return to_lockout(m, f, 11);
  if (m.stage == Stage::second)]]
  [[  if (m.stage == Stage::second)]]
  "a contactor that does not open in time locks out")
guard_mutant(advance "a stop while closing closes the other contactor first"
  [[if (stopping(r)) return enter(m, S::ramp_down, Stage::third);]]
  [[if (stopping(r)) return enter(m, S::ramp_down);]]
  "a stop never orders a contactor, and lowers the source at once")
guard_mutant(advance "the program resumes where it was"
  [[return f.store_empty ? to_safe_earthed(m, f) : stay(m);  // I35: access waits for it, without a bound]]
  [[return f.store_empty ? enter(m, S::securing) : stay(m);]]
  "program start never resumes: UNKNOWN leads to SAFE_EARTHED or LOCKOUT alone")

# ---- judge -------------------------------------------------------------------------------------------------------
guard_mutant(judge "one healthy channel of the emergency stop is enough"
  [[note(1, !in.stop_a || !in.stop_b)]] [[note(1, !in.stop_a && !in.stop_b)]]
  "condition I01 counts where it must and nowhere else")
guard_mutant(judge "a channel that was never seen to work proves LOW"
  [[step.resolves_low && w.seen_voltage]] [[step.resolves_low]]
  "LOW is proven only by a channel that was seen to work, or by the relay")
guard_mutant(judge "an I/O watchdog of zero is accepted"
  [[in.watchdog_ms == 0 ||]] [[]]
  "condition I22 counts where it must and nowhere else")
guard_mutant(judge "an old image is fresh"
  [[return w.fresh && (b & for_closing) == 0]] [[return (b & for_closing) == 0]]
  "contactors may close only on a fresh and complete image")
guard_mutant(judge "a second source need not be isolated"
  [[note(34, !s.mirrors.isolated)]] [[note(34, s.mirrors.other)]]
  "condition I34 counts where it must and nowhere else")
guard_mutant(judge "the ceiling is not looked at in HOLD"
  [[    case S::hold:
      return while_energised | nobody;]]
  [[    case S::hold:
      return (while_energised | nobody) & ~bit(16);]]
  "condition I16 counts where it must and nowhere else")
guard_mutant(judge "a voltage relay that is not wired proves LOW"
  [[bench.has_relay && in.voltage_absent]] [[in.voltage_absent]]
  "a signal that the bench does not wire neither trips nor proves")
guard_mutant(judge "what the last run left in the block is another owner at once"
  [[(w.owner_seen || w.foreign_ms > bench.watchdog_ms)]] [[true]]
  "another owner in the block locks out, an empty block does not")

# ---- observe -----------------------------------------------------------------------------------------------------
guard_mutant(observe "a taped reset button resets"
  [[if (w.reset_was_up) w.reset_ms]] [[w.reset_ms]]
  "the reset acts on release, after a press that began after the trip")
guard_mutant(observe "a discrepancy heals by itself"
  [[if (a && b && (w.apart_cleared & mark) != 0)]] [[if (a && b)]]
  "a two-channel discrepancy clears only through both open, then both closed")
guard_mutant(observe "a block whose scan stands still is fresh"
  [[w.scan_ms = scanned ? 0 :]] [[w.scan_ms = heard.ok ? 0 :]]
  "a link that is lost, frozen or late is noticed at the stale limit")

file(CONFIGURE OUTPUT "${CMAKE_CURRENT_BINARY_DIR}/mutants/mutant_list.inc"
     CONTENT "namespace benchward::guard {\n${guard_mutant_declarations}}\nstatic Mutant const mutants[] = {\n${guard_mutant_rows}};\n"
     @ONLY)
