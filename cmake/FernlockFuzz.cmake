# tests/fuzz/fuzz_*.c: one program for each parser. In the preset "fuzz" libFuzzer drives them
# (scripts/fuzz); in a sanitized build tests/fuzz/driver.c does, through the corpus and a fixed number
# of mutations, as a CTest entry labelled "fuzz".
if(NOT FL_FUZZ AND NOT FL_SANITIZE)
  return()
endif()
# What a round costs differs: so many of each make about two seconds.
set(FL_FUZZ_ROUNDS_event 2000)
set(FL_FUZZ_ROUNDS_logger 2000)
set(FL_FUZZ_ROUNDS_lots 2000)
set(FL_FUZZ_ROUNDS_date_number 20000)
set(FL_FUZZ_ROUNDS_http_head 20000)
set(FL_FUZZ_ROUNDS_query 40)
set(FL_FUZZ_ROUNDS_api 60)
set(FL_FUZZ_ROUNDS_scenario 300)
set(FL_FUZZ_ROUNDS_card 60)
set(FL_FUZZ_ROUNDS_room 12)

# The arithmetic of chances takes no text, and instrumented it is all that a driven request does (a
# price took a minute): in the preset "fuzz" it is compiled plainly. Every other sanitized build and
# test keeps it under the sanitizers.
if(FL_FUZZ)
  file(GLOB arithmetic ${CMAKE_SOURCE_DIR}/src/core/clear/*.c ${CMAKE_SOURCE_DIR}/src/core/develop/*.c)
  set_source_files_properties(${arithmetic} PROPERTIES COMPILE_OPTIONS "-O2;-fno-sanitize=all")
endif()

add_custom_target(fuzzers)
file(GLOB fuzzers CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/fuzz/fuzz_*.c)
foreach(file ${fuzzers})
  get_filename_component(target ${file} NAME_WE)
  string(REGEX REPLACE "^fuzz_" "" name ${target})
  add_executable(${target} ${file} ${CMAKE_SOURCE_DIR}/tests/fuzz/stage.c
    ${CMAKE_SOURCE_DIR}/tests/fuzz/serve.c)
  target_include_directories(${target} PRIVATE ${CMAKE_SOURCE_DIR}/tests)
  target_compile_definitions(${target} PRIVATE FL_SOURCE_DIR="${CMAKE_SOURCE_DIR}")
  target_link_libraries(${target} PRIVATE fl_flags fl_all PkgConfig::SQLITE)
  set_target_properties(${target} PROPERTIES RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/fuzz)
  add_dependencies(fuzzers ${target})
  if(FL_FUZZ)
    target_link_options(${target} PRIVATE -fsanitize=fuzzer)
  else()
    target_sources(${target} PRIVATE ${CMAKE_SOURCE_DIR}/tests/fuzz/driver.c)
    add_test(NAME fuzz/${name}
      COMMAND ${target} ${FL_FUZZ_ROUNDS_${name}} ${CMAKE_SOURCE_DIR}/tests/fuzz/corpus/${name})
    set_tests_properties(fuzz/${name} PROPERTIES LABELS fuzz TIMEOUT 120)
  endif()
endforeach()
