# SPDX-License-Identifier: MIT
# Compiles the guard's pure part as for a microcontroller and links it without any library: nothing may be undefined
# but memcpy and memset. Run by ctest with -DCOMPILER, -DSOURCE_DIR, -DWORK_DIR.
file(MAKE_DIRECTORY "${WORK_DIR}")
set(objects "")
foreach(part advance judge observe turn)
  execute_process(
    COMMAND "${COMPILER}" -std=c++20 -O2 -Wall -Wextra -Werror -ffreestanding -fno-exceptions -fno-rtti
            -fno-stack-protector -fno-asynchronous-unwind-tables "-I${SOURCE_DIR}"
            -c "${SOURCE_DIR}/tests_seq/guard/${part}.cpp" -o "${WORK_DIR}/${part}.o"
    RESULT_VARIABLE failed)
  if(failed)
    message(FATAL_ERROR "${part}.cpp does not compile freestanding")
  endif()
  list(APPEND objects "${WORK_DIR}/${part}.o")
endforeach()
execute_process(COMMAND "${COMPILER}" -nostdlib -r ${objects} -o "${WORK_DIR}/guard.o" RESULT_VARIABLE failed)
if(failed)
  message(FATAL_ERROR "the guard does not link without libraries")
endif()
execute_process(COMMAND nm -u "${WORK_DIR}/guard.o" OUTPUT_VARIABLE undefined RESULT_VARIABLE failed)
if(failed)
  message(FATAL_ERROR "nm failed")
endif()
string(REGEX MATCHALL "[A-Za-z_][A-Za-z0-9_]+" names "${undefined}")
foreach(name ${names})
  if(NOT name STREQUAL "memcpy" AND NOT name STREQUAL "memset")
    message(FATAL_ERROR "undefined in the freestanding guard: ${name}")
  endif()
endforeach()
# And a whole program of it, with those two written here.
file(WRITE "${WORK_DIR}/start.cpp" "
#include \"tests_seq/guard/guard.hpp\"
extern \"C\" void* memcpy(void* to, void const* from, decltype(sizeof(0)) n) {
  auto* t = static_cast<unsigned char volatile*>(to);
  auto const* f = static_cast<unsigned char const*>(from);
  while (n-- > 0) *t++ = *f++;
  return to;
}
extern \"C\" void* memset(void* to, int v, decltype(sizeof(0)) n) {
  auto* t = static_cast<unsigned char volatile*>(to);
  while (n-- > 0) *t++ = static_cast<unsigned char>(v);
  return to;
}
using namespace benchward;
volatile int state;
extern \"C\" void _start() {
  guard::Running running;
  BenchInputs in;
  guard::Declaration bench;
  guard::StepLimits step;
  running = guard::turn(running, in, {}, guard::Request::none, 0, bench, step);
  state = static_cast<int>(running.machine.at);
  for (;;) {
  }
}
")
execute_process(
  COMMAND "${COMPILER}" -std=c++20 -O2 -ffreestanding -fno-exceptions -fno-rtti -fno-stack-protector -nostdlib -static
          "-I${SOURCE_DIR}" "${WORK_DIR}/start.cpp" "${WORK_DIR}/guard.o" -o "${WORK_DIR}/guard-freestanding"
  RESULT_VARIABLE failed)
if(failed)
  message(FATAL_ERROR "a program of the guard alone does not link")
endif()
message(STATUS "freestanding: undefined symbols: ${names}")
