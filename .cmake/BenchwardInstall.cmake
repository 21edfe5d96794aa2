# SPDX-License-Identifier: MIT
# Installs the library as a CMake package: headers as <benchward/ROOM/...>, targets as benchward::NAME.
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

set(benchward_installed benchward_quantities benchward_limits benchward_documents)
foreach(target benchward_roles benchward_drivers benchward_tests_seq)
  if(TARGET ${target})
    list(APPEND benchward_installed ${target})
  endif()
endforeach()
foreach(target ${benchward_installed})
  string(REPLACE "benchward_" "" short ${target})
  set_target_properties(${target} PROPERTIES EXPORT_NAME ${short})
  target_include_directories(${target} INTERFACE $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
endforeach()
install(TARGETS ${benchward_installed} EXPORT benchwardTargets ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR})
foreach(room limits drivers tests_seq)
  # A header that shows a type of the JSON library, or is internal, stays at home.
  install(DIRECTORY ${PROJECT_SOURCE_DIR}/${room}/ DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/benchward/${room}
          FILES_MATCHING PATTERN "*.hpp" PATTERN "json_reader.hpp" EXCLUDE PATTERN "modbus_context.hpp" EXCLUDE PATTERN "topic.hpp" EXCLUDE
          PATTERN "structure_fields.hpp" EXCLUDE PATTERN "*_internal.hpp" EXCLUDE)
  install(DIRECTORY ${PROJECT_SOURCE_DIR}/${room}/ DESTINATION ${CMAKE_INSTALL_DATADIR}/benchward/schemas
          FILES_MATCHING PATTERN "*.schema.json")
endforeach()
install(EXPORT benchwardTargets NAMESPACE benchward:: DESTINATION ${CMAKE_INSTALL_LIBDIR}/cmake/benchward)
file(WRITE "${PROJECT_BINARY_DIR}/benchwardConfig.cmake" "include(CMakeFindDependencyMacro)
find_dependency(Boost 1.81)
find_dependency(fmt)
find_dependency(nlohmann_json)
find_dependency(OpenSSL)
find_dependency(Threads)
find_dependency(PkgConfig)
if(NOT TARGET PkgConfig::libmodbus)
  pkg_check_modules(libmodbus REQUIRED IMPORTED_TARGET libmodbus)
endif()
include(\"\${CMAKE_CURRENT_LIST_DIR}/benchwardTargets.cmake\")
")
write_basic_package_version_file("${PROJECT_BINARY_DIR}/benchwardConfigVersion.cmake" VERSION ${PROJECT_VERSION}
                                 COMPATIBILITY SameMinorVersion)
install(FILES "${PROJECT_BINARY_DIR}/benchwardConfig.cmake" "${PROJECT_BINARY_DIR}/benchwardConfigVersion.cmake"
        DESTINATION ${CMAKE_INSTALL_LIBDIR}/cmake/benchward)
