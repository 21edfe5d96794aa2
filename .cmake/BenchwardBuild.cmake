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

# Several sources of one target as one compilation, where BENCHWARD_TOGETHER asks for it: most of a compilation is the
# same headers again (nlohmann_json, Asio, Catch2), so that the whole tree takes half the time. Names in unnamed
# namespaces must differ within a target then. The presets `dev` and `clang` compile each file alone, `fuzz` each that is no
# test (FUZZ_BUILDS_TOO).
function(benchward_together target)
  if(BENCHWARD_TOGETHER OR (BENCHWARD_FUZZ AND "FUZZ_BUILDS_TOO" IN_LIST ARGN))
    set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_BATCH_SIZE 6)
    if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
      target_compile_options(${target} PRIVATE -Wno-subobject-linkage)  # of files that are never included elsewhere
    endif()
  endif()
endfunction()

# Sources that stay compilations of their own in such a target: their unnamed namespaces share names, or one alone is
# enough for a compiler.
function(benchward_apart)
  set_source_files_properties(${ARGN} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
endfunction()

# benchward_library(name ALIAS benchward::name SOURCES ... [PUBLIC libs...] [PRIVATE libs...] [APART])
# APART: each source is always a compilation of its own.
function(benchward_library name)
  cmake_parse_arguments(arg "APART" "ALIAS" "SOURCES;PUBLIC;PRIVATE" ${ARGN})
  add_library(${name} STATIC ${arg_SOURCES})
  if(arg_ALIAS)
    add_library(${arg_ALIAS} ALIAS ${name})
  endif()
  target_link_libraries(${name} PUBLIC ${arg_PUBLIC} PRIVATE $<BUILD_INTERFACE:benchward_flags> ${arg_PRIVATE})
  target_include_directories(${name} PUBLIC $<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}>)
  if(NOT arg_APART)
    benchward_together(${name})
  endif()
endfunction()

# benchward_test(name SOURCES ... LIBRARIES ... [LABELS ...] [TIMEOUT s] [APART]): one Catch2 program, one ctest entry.
# APART: each source is always a compilation of its own.
# Labels: `sanitize` = also run under ASan+UBSan in CI; `thread` = under TSan; `wires` = opens sockets or terminals.
function(benchward_test name)
  cmake_parse_arguments(arg "APART" "TIMEOUT" "SOURCES;LIBRARIES;LABELS" ${ARGN})
  if(NOT BENCHWARD_TESTS)
    return()
  endif()
  if(NOT arg_TIMEOUT)
    set(arg_TIMEOUT 120)
  endif()
  add_executable(${name} ${arg_SOURCES})
  target_link_libraries(${name} PRIVATE benchward_flags ${arg_LIBRARIES} benchward_catch_main)
  if(CMAKE_BUILD_TYPE STREQUAL "Release")
    target_compile_options(${name} PRIVATE -O1)  # the tests' own code; what they test is built as it ships
  endif()
  target_compile_definitions(${name} PRIVATE BENCHWARD_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
                             BENCHWARD_BINARY_DIR="${PROJECT_BINARY_DIR}")
  if(NOT arg_APART)
    benchward_together(${name} FUZZ_BUILDS_TOO)
  endif()
  add_test(NAME ${name} COMMAND ${name})
  set_tests_properties(${name} PROPERTIES TIMEOUT ${arg_TIMEOUT} LABELS "${arg_LABELS}")
endfunction()
