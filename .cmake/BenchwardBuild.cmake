# SPDX-License-Identifier: MIT
# Flags that every target shares, and the three functions with which rooms declare targets.

find_program(BENCHWARD_CCACHE ccache)
if(BENCHWARD_CCACHE)
  set(CMAKE_CXX_COMPILER_LAUNCHER "${BENCHWARD_CCACHE}")
  set(CMAKE_C_COMPILER_LAUNCHER "${BENCHWARD_CCACHE}")
endif()
if(NOT CMAKE_BUILD_TYPE)
  set(CMAKE_BUILD_TYPE Release)
endif()
set(CMAKE_CXX_FLAGS_RELEASE "-O2 -DNDEBUG")
set(CMAKE_CXX_FLAGS_DEBUG "-g1 ${BENCHWARD_OPTIMISE}")

add_library(benchward_flags INTERFACE)
# -ffp-contract=off: the same numbers from both compilers on every processor (no fused multiply-add where one may).
target_compile_options(benchward_flags INTERFACE -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion
                       -Wnon-virtual-dtor -Woverloaded-virtual -Werror -ffp-contract=off)
target_include_directories(benchward_flags INTERFACE "${PROJECT_SOURCE_DIR}")
# JSON_DIAGNOSTICS changes the library's ABI: one value for every target of the tree.
target_compile_definitions(benchward_flags INTERFACE JSON_DIAGNOSTICS=1 BOOST_ASIO_NO_DEPRECATED=1)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  target_compile_options(benchward_flags INTERFACE -Wno-mismatched-new-delete)  # false alarms on coroutine frames, GCC 12
  # False alarms in nlohmann_json with JSON_DIAGNOSTICS: it sees a map where the value holds a string. Clang keeps its own.
  target_compile_options(benchward_flags INTERFACE -Wno-array-bounds)
endif()
if(BENCHWARD_SANITIZE)
  target_compile_options(benchward_flags INTERFACE -fsanitize=${BENCHWARD_SANITIZE} -fno-omit-frame-pointer)
  target_link_options(benchward_flags INTERFACE -fsanitize=${BENCHWARD_SANITIZE})
  if(BENCHWARD_SANITIZE MATCHES "undefined")
    target_compile_options(benchward_flags INTERFACE -fno-sanitize-recover=undefined)
  endif()
  if(BENCHWARD_SANITIZE MATCHES "thread" AND CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
    target_compile_options(benchward_flags INTERFACE -Wno-tsan)  # Asio's atomic_thread_fence is not supported by TSan
  endif()
endif()
if(BENCHWARD_FUZZ)
  target_compile_options(benchward_flags INTERFACE -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=undefined)
  target_link_options(benchward_flags INTERFACE -fsanitize=address,undefined)
endif()

# benchward_library(name ALIAS benchward::name SOURCES ... [PUBLIC libs...] [PRIVATE libs...])
function(benchward_library name)
  cmake_parse_arguments(arg "" "ALIAS" "SOURCES;PUBLIC;PRIVATE" ${ARGN})
  add_library(${name} STATIC ${arg_SOURCES})
  if(arg_ALIAS)
    add_library(${arg_ALIAS} ALIAS ${name})
  endif()
  target_link_libraries(${name} PUBLIC ${arg_PUBLIC} PRIVATE $<BUILD_INTERFACE:benchward_flags> ${arg_PRIVATE})
  target_include_directories(${name} PUBLIC $<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}>)
endfunction()

# benchward_test(name SOURCES ... LIBRARIES ... [LABELS ...] [TIMEOUT s]): one Catch2 program, one ctest entry.
# Labels: `sanitize` = also run under ASan+UBSan in CI; `thread` = under TSan; `wires` = opens sockets or terminals.
function(benchward_test name)
  cmake_parse_arguments(arg "" "TIMEOUT" "SOURCES;LIBRARIES;LABELS" ${ARGN})
  if(NOT BENCHWARD_TESTS)
    return()
  endif()
  if(NOT arg_TIMEOUT)
    set(arg_TIMEOUT 120)
  endif()
  add_executable(${name} ${arg_SOURCES})
  target_link_libraries(${name} PRIVATE benchward_flags ${arg_LIBRARIES} benchward_catch_main)
  target_compile_definitions(${name} PRIVATE BENCHWARD_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
                             BENCHWARD_BINARY_DIR="${PROJECT_BINARY_DIR}")
  add_test(NAME ${name} COMMAND ${name})
  set_tests_properties(${name} PROPERTIES TIMEOUT ${arg_TIMEOUT} LABELS "${arg_LABELS}")
endfunction()
