# Styles and the font lie in share/evendrip, beside the build's bin folder as in an installation, so
# that one rule finds them. The font keeps its licence beside it.
pkg_check_modules(PANGOFT2 REQUIRED IMPORTED_TARGET pangoft2)
target_link_libraries(evendrip_maps PRIVATE PkgConfig::PANGOFT2)

set(EVENDRIP_FONT_DIR /usr/share/fonts/truetype/dejavu CACHE PATH "Where DejaVuSans.ttf lies")
set(EVENDRIP_FONT_LICENCE /usr/share/doc/fonts-dejavu-core/copyright CACHE FILEPATH
  "Licence of the font")
set(fonts ${EVENDRIP_FONT_DIR}/DejaVuSans.ttf ${EVENDRIP_FONT_DIR}/DejaVuSans-Bold.ttf)
foreach(needed ${fonts} ${EVENDRIP_FONT_LICENCE})
  if(NOT EXISTS ${needed})
    message(FATAL_ERROR "${needed} is missing: install fonts-dejavu-core")
  endif()
endforeach()

file(GLOB styles CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/styles/*.sld)
set(shared ${CMAKE_BINARY_DIR}/share/evendrip)
add_custom_command(
  OUTPUT ${shared}/copied
  COMMAND ${CMAKE_COMMAND} -E rm -rf ${shared}/styles ${shared}/fonts
  COMMAND ${CMAKE_COMMAND} -E make_directory ${shared}/styles ${shared}/fonts
  COMMAND ${CMAKE_COMMAND} -E copy ${styles} ${shared}/styles
  COMMAND ${CMAKE_COMMAND} -E copy ${fonts} ${shared}/fonts
  COMMAND ${CMAKE_COMMAND} -E copy ${EVENDRIP_FONT_LICENCE} ${shared}/fonts/LICENCE-DejaVu
  COMMAND ${CMAKE_COMMAND} -E touch ${shared}/copied
  DEPENDS ${styles} ${fonts}
  COMMENT "Laying styles and fonts beside the programs")
add_custom_target(evendrip_map_resources ALL DEPENDS ${shared}/copied)
add_dependencies(evendrip_maps evendrip_map_resources)

install(FILES ${styles} DESTINATION ${CMAKE_INSTALL_DATADIR}/evendrip/styles)
install(FILES ${fonts} DESTINATION ${CMAKE_INSTALL_DATADIR}/evendrip/fonts)
install(FILES ${EVENDRIP_FONT_LICENCE} DESTINATION ${CMAKE_INSTALL_DATADIR}/evendrip/fonts
  RENAME LICENCE-DejaVu)
