# SPDX-License-Identifier: MIT
# Builds the panel's page (npm, the distribution's or a newer Node.js) and compiles it into the program. Without npm the
# program is built all the same; its panel then says how to get the page.
set(panel_source "${PROJECT_SOURCE_DIR}/firmware_host/panel/web")
set(panel_work "${PROJECT_BINARY_DIR}/panel")
set(panel_generated "${PROJECT_BINARY_DIR}/generated/panel_files.cpp")
option(BENCHWARD_PANEL "Build the operator panel's page if npm is found" ON)
find_program(BENCHWARD_NPM npm)

if(BENCHWARD_PANEL AND BENCHWARD_NPM AND NOT BENCHWARD_SANITIZE AND NOT BENCHWARD_FUZZ)
  file(GLOB_RECURSE panel_inputs CONFIGURE_DEPENDS "${panel_source}/src/*" "${panel_source}/index.html" "${panel_source}/*.json"
       "${panel_source}/vite.config.js")
  list(FILTER panel_inputs EXCLUDE REGEX "/node_modules/|/dist/")
  add_custom_command(
    OUTPUT "${panel_work}/dist/panel.js" "${panel_work}/dist/panel.css" "${panel_work}/dist/index.html"
    COMMAND ${CMAKE_COMMAND} -E make_directory "${panel_work}"
    COMMAND ${CMAKE_COMMAND} -E copy_directory "${panel_source}/src" "${panel_work}/src"
    COMMAND ${CMAKE_COMMAND} -E copy "${panel_source}/index.html" "${panel_source}/package.json" "${panel_source}/package-lock.json"
            "${panel_source}/tsconfig.json" "${panel_source}/vite.config.js" "${panel_source}/.npmrc" "${panel_work}"
    COMMAND ${CMAKE_COMMAND} -E chdir "${panel_work}" ${BENCHWARD_NPM} ci --ignore-scripts --no-audit --no-fund --loglevel=error
    COMMAND ${CMAKE_COMMAND} -E chdir "${panel_work}" ${BENCHWARD_NPM} run --silent build
    DEPENDS ${panel_inputs}
    COMMENT "panel page")
  set(panel_files "${panel_work}/dist/index.html" "${panel_work}/dist/panel.js" "${panel_work}/dist/panel.css")
else()
  set(panel_files "")
endif()
add_custom_command(
  OUTPUT "${panel_generated}"
  COMMAND ${CMAKE_COMMAND} "-DFILES=${panel_files}" -DOUTPUT=${panel_generated} -P ${PROJECT_SOURCE_DIR}/.cmake/EmbedPanel.cmake
  DEPENDS ${panel_files} ${PROJECT_SOURCE_DIR}/.cmake/EmbedPanel.cmake
  VERBATIM
  COMMENT "panel page into the program")
