# What is made at build time: tables from data/, embedded text, the embedded web interface.
# Everything lands in ${CMAKE_BINARY_DIR}/generated; a missing input gives an empty table.
set(FL_GENERATED ${CMAKE_BINARY_DIR}/generated)
file(MAKE_DIRECTORY ${FL_GENERATED}/data)

# A tool that runs while building; not sanitized, not linked with anything of ours.
function(fl_add_tool name)
  add_executable(${name} ${ARGN})
  target_compile_options(${name} PRIVATE -Wall -Wextra)
  set_target_properties(${name} PROPERTIES
    RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/tools)
endfunction()

# data/NAME.csv -> generated/data/NAME.h, for core
if(EXISTS ${CMAKE_SOURCE_DIR}/tools/csv2c.c)
  fl_add_tool(csv2c tools/csv2c.c)
  target_compile_definitions(csv2c PRIVATE _GNU_SOURCE)
  file(GLOB tables CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/data/*.csv)
  foreach(table ${tables})
    get_filename_component(name ${table} NAME_WE)
    set(header ${FL_GENERATED}/data/${name}.h)
    add_custom_command(OUTPUT ${header} COMMAND csv2c ${table} ${header}
      DEPENDS csv2c ${table} VERBATIM COMMENT "data/${name}.csv")
    list(APPEND data_headers ${header})
  endforeach()
  if(data_headers)
    add_custom_target(fl_generated_core DEPENDS ${data_headers})
  endif()
endif()

# Text files -> one header with a table {name, bytes, len}
function(fl_embed_text layer header symbol)
  set(out ${FL_GENERATED}/${header})
  add_custom_command(OUTPUT ${out} COMMAND embed_text ${symbol} ${out} ${ARGN}
    DEPENDS embed_text ${ARGN} VERBATIM COMMENT "${header}")
  if(TARGET fl_generated_${layer})
    add_custom_target(fl_embed_${symbol} DEPENDS ${out})
    add_dependencies(fl_generated_${layer} fl_embed_${symbol})
  else()
    add_custom_target(fl_generated_${layer} DEPENDS ${out})
  endif()
endfunction()

if(EXISTS ${CMAKE_SOURCE_DIR}/tools/embed_text.c)
  fl_add_tool(embed_text tools/embed_text.c)
  file(GLOB migrations CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/src/store/schema/*.sql)
  file(GLOB schemas CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/schema/*.json)
  file(GLOB demo CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/demo/demo.jsonl)
  file(GLOB openapi CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/api/openapi.yaml)
  list(SORT migrations)
  list(SORT schemas)
  fl_embed_text(store store_migrations.h fl_embedded_migrations ${migrations})
  fl_embed_text(json json_schemas.h fl_embedded_schemas ${schemas})
  fl_embed_text(http openapi.h fl_embedded_openapi ${openapi})
  fl_embed_text(cli demo.h fl_embedded_demo ${demo})
endif()

# Files of one pattern -> an X-macro of their words, so that a new file needs no list edited:
# src/cli/cmd_NAME.c -> X(NAME), src/cli/reckon_NAME.c -> X(NAME). Rewritten only when it changes.
function(fl_collect pattern prefix macro header)
  file(GLOB files CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/src/cli/${pattern})
  list(SORT files)
  set(entries "")
  foreach(file ${files})
    get_filename_component(name ${file} NAME_WE)
    string(REGEX REPLACE "^${prefix}" "" name ${name})
    string(APPEND entries " X(${name})")
  endforeach()
  file(CONFIGURE OUTPUT ${FL_GENERATED}/${header} @ONLY
    CONTENT "/* Made by the build from the names of src/cli/${pattern}. */\n#define ${macro}(X)${entries}\n")
endfunction()
fl_collect(cmd_*.c cmd_ FL_COMMANDS commands.h)
fl_collect(reckon_*.c reckon_ FL_RECKON_TOPICS reckon_topics.h)

# web/build -> the files inside the program, for http
file(GLOB_RECURSE web_files CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/web/build/*)
file(CONFIGURE OUTPUT ${FL_GENERATED}/web_files.txt CONTENT "@web_files@" @ONLY) # a file gone counts too
add_custom_command(
  OUTPUT ${FL_GENERATED}/web_assets.S ${FL_GENERATED}/web_assets.c
  COMMAND ${CMAKE_SOURCE_DIR}/tools/embed-web ${CMAKE_SOURCE_DIR}/web/build ${FL_GENERATED}
  DEPENDS ${CMAKE_SOURCE_DIR}/tools/embed-web
    ${FL_GENERATED}/web_files.txt ${web_files} VERBATIM COMMENT "web_assets")
set(FL_GENERATED_SOURCES_http ${FL_GENERATED}/web_assets.S ${FL_GENERATED}/web_assets.c)
