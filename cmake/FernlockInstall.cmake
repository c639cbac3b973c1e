# cmake --install: the program, its manual page and completions (made by the program itself from its
# table of commands), the user's systemd unit, licence and guide. Honours DESTDIR and --prefix.
if(NOT TARGET fernlock)
  return()
endif()
include(GNUInstallDirs)
set(FL_MANUAL ${CMAKE_BINARY_DIR}/manual)
file(MAKE_DIRECTORY ${FL_MANUAL})
set(FL_MANUAL_FILES "")
function(fl_manual form file)
  add_custom_command(OUTPUT ${FL_MANUAL}/${file} COMMAND fernlock manual ${form} > ${FL_MANUAL}/${file}
    DEPENDS fernlock VERBATIM COMMENT "manual/${file}")
  set(FL_MANUAL_FILES ${FL_MANUAL_FILES} ${FL_MANUAL}/${file} PARENT_SCOPE)
endfunction()
fl_manual(page fernlock.1)
fl_manual(bash fernlock.bash)
fl_manual(zsh _fernlock)
fl_manual(fish fernlock.fish)
add_custom_target(fl_manual_files ALL DEPENDS ${FL_MANUAL_FILES})

install(TARGETS fernlock RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(FILES ${FL_MANUAL}/fernlock.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
install(FILES ${FL_MANUAL}/fernlock.bash RENAME fernlock
  DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES ${FL_MANUAL}/_fernlock DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/site-functions)
install(FILES ${FL_MANUAL}/fernlock.fish
  DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
install(FILES packaging/fernlock.service DESTINATION lib/systemd/user)
install(FILES LICENSE README.md CHANGELOG.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(DIRECTORY docs/guide DESTINATION ${CMAKE_INSTALL_DOCDIR})
