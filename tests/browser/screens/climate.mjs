// Light, air and water: the list, one place, a logger's file before and after it was looked at.
const csv = Array.from({ length: 60 }, (_, k) => `04/03/2026 ${String(10 + Math.floor(k / 6)).padStart(2, '0')}:${k % 6}0,21.${k % 9},80`);

export const screens = {
  climate: () => '/climate',
  climatePlace: (room) => `/climate/${room.place('Bin 2')}`,
  climateFile: (room) => ({
    path: `/climate/${room.place('Bin 2')}/file`,
    act: async (page) => {
      await page.locator('#file').setInputFiles({ name: 'log.csv', mimeType: 'text/csv', buffer: Buffer.from(`Time,T (C),RH\n${csv.join('\n')}\n`) });
      await page.getByText('The file leaves this open').waitFor();
    },
  }),
};
