# What `cmake --install` lays down besides the kernels: program, man page, completion, schemas of JSON (styles and fonts: maps/resources.cmake).
if(TARGET evendrip)
  install(TARGETS evendrip RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
endif()
configure_file(${CMAKE_CURRENT_LIST_DIR}/man/evendrip.1 ${PROJECT_BINARY_DIR}/man/evendrip.1 @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/man/evendrip.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
install(FILES ${CMAKE_CURRENT_LIST_DIR}/completion/evendrip.bash
  DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME evendrip)
install(DIRECTORY ${PROJECT_SOURCE_DIR}/src/report/schemas
  DESTINATION ${CMAKE_INSTALL_DATADIR}/evendrip FILES_MATCHING PATTERN "*.schema.json")
