# tests/<kind>/**/test_*.c: one program and one CTest entry each, labelled by kind.
file(GLOB support CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/support/*.c)
if(NOT support)
  return()
endif()
add_library(fl_test_support STATIC ${support})
target_include_directories(fl_test_support PUBLIC ${CMAKE_SOURCE_DIR}/tests)
target_link_libraries(fl_test_support PUBLIC fl_flags fl_all PkgConfig::CMOCKA PkgConfig::GSL
  PkgConfig::JANSSON PkgConfig::SQLITE Threads::Threads m)
target_compile_definitions(fl_test_support PUBLIC
  FL_TEST_DATA_DIR="${CMAKE_SOURCE_DIR}/tests/reference"
  FL_SOURCE_DIR="${CMAKE_SOURCE_DIR}"
  FL_BINARY="$<$<TARGET_EXISTS:fernlock>:$<TARGET_FILE:fernlock>>")

add_custom_target(tests)
foreach(kind unit property reference golden fault)
  file(GLOB_RECURSE files CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/${kind}/test_*.c)
  foreach(file ${files})
    file(RELATIVE_PATH path ${CMAKE_SOURCE_DIR}/tests ${file})
    string(REGEX REPLACE "\\.c$" "" path ${path})
    string(REPLACE "/" "_" target ${path})
    add_executable(${target} ${file})
    target_link_libraries(${target} PRIVATE fl_test_support)
    set_target_properties(${target} PROPERTIES
      RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/tests)
    if(TARGET fernlock)
      add_dependencies(${target} fernlock)
    endif()
    add_dependencies(tests ${target})
    add_test(NAME ${path} COMMAND ${target})
    set_tests_properties(${path} PROPERTIES LABELS ${kind} TIMEOUT 300)
  endforeach()
endforeach()

# Test programs in which our own calls of the system may be let fail (tests/support/trip.h): the
# linker leads those calls to tests/support/wrap.
set(FL_TRIP_CALLS fopen opendir mkstemp read getline fread ferror write mkdir rename link unlink fsync
  open)
if(FL_SANITIZE OR FL_SANITIZE_THREADS)
  list(APPEND FL_TRIP_CALLS malloc calloc realloc)
endif()
foreach(name main_job memory)
  if(TARGET fault_test_${name})
    target_sources(fault_test_${name} PRIVATE ${CMAKE_SOURCE_DIR}/tests/support/wrap/calls.c)
    foreach(call ${FL_TRIP_CALLS})
      target_link_options(fault_test_${name} PRIVATE -Wl,--wrap=${call})
    endforeach()
  endif()
endforeach()
