using System.Collections.Immutable;
using System.Globalization;

namespace Throughline.Instruments;

/// <summary>Reads the settings memory.</summary>
internal static class MemoryReader
{
    private const string OwnRecord = "settings";
    private const int GreatestAddress = 65_535;
    private const double SecondsPerDay = 86_400;

    private static readonly WordShape Guards = new([.. MemoryWords.Guards.Select(g => g.Word)]);

    private static readonly ListShape Addresses = new(new IntegerShape(0, GreatestAddress), 1, 3);

    private static readonly QuantityShape Interval = Shapes.Quantity(UnitSets.Time, f => f.WithPrefix("every").Positive());

    private static readonly PatternShape PerDay = new("so many per day such as 10 per day", "[1-9][0-9]{0,5} +per +day", t => TryPerDay(t, out _));

    /// <summary>What need not be said of an item that keeps something of the instrument.</summary>
    private static readonly string[] DecidedKeys = ["factory", "accepted", "step"];

    private static readonly EitherShape Written = new(new WordShape([.. MemoryWords.Occasions.Select(o => o.Word)]), Interval, PerDay);

    public static readonly MapShape Item = new(
        "memory item",
        "One item of the settings memory: what of the instrument it keeps, or a name with a word.",
        Key.Optional("name", Shapes.Text, "Its name, where it keeps nothing that the instrument has."),
        Key.Optional("keeps", new WordShape([.. MemoryWords.Keeps.Select(k => k.Word)]), "What of the instrument it keeps. Word, factory value, accepted range and step follow from that."),
        Key.Optional("kind", new WordShape([.. MemoryWords.Kinds.Select(k => k.Word)]), "The word that it is stored as; `f32` is IEEE 754, `bool` one byte that reads true when it is not 0.", "the narrowest for what it keeps"),
        Key.Optional("factory", new EitherShape(Shapes.Flag, Shapes.Quantity(UnitSets.Number, f => f.WithSign().OrBare())), "Its value when it leaves the factory.", "what follows from what it keeps, or 0"),
        Key.Optional(
            "accepted", Shapes.Quantity(UnitSets.Number, f => f.WithSign().AsRange("0 .. 100")), "Values that are accepted; another one gives way to the factory value.",
            "what follows from what it keeps; for `bool` 0 .. 1; else every value of the word"),
        Key.Optional(
            "test", new WordShape([.. MemoryWords.Tests.Select(t => t.Word)]),
            "How the code asks: `accepted inside` takes what is at least the least and at most the greatest, `refused outside` lets through what is neither below nor above, also what is not a number.",
            "accepted inside"),
        Key.Optional("step", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().Positive()), "What one count is worth.", "what follows from what it keeps, or 1"))
    {
        ExactlyOneOf = [["name"], ["keeps"]],
        Example = "{ name: alarm on, kind: bool, factory: true }",
    };

    private static readonly ListShape Items = new(Item, 1, 64);

    private static readonly MapShape OldItem = new(
        "item of an older layout",
        "What an earlier revision kept, and how.",
        Key.Optional("name", Shapes.Text, "Its name."),
        Key.Optional("keeps", new WordShape([.. MemoryWords.Keeps.Select(k => k.Word)]), "What of the instrument it kept."),
        Key.Required("kind", new WordShape([.. MemoryWords.Kinds.Select(k => k.Word)]), "The word that it was stored as."),
        Key.Optional("step", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().Positive()), "What one count was worth.", "the same as now"))
    {
        ExactlyOneOf = [["name"], ["keeps"]],
        Example = "{ keeps: zero, kind: i32, step: 1 µV }",
    };

    private static readonly MapShape Older = new(
        "older layout",
        "How an earlier revision of the firmware kept the record. Items are found again by their name or by what they keep, and scaled where the step was another.",
        Key.Required("version", new IntegerShape(1, 254), "Its version."),
        Key.Required("items", new ListShape(OldItem, 1, 64), "Its items, each with its word."),
        Key.Optional("guard", Guards, "Its guard.", "the memory's"),
        Key.Optional("at", Addresses, "Addresses of its copies.", "where the copies of the record begin"));

    public static readonly MapShape Record = new(
        "memory record",
        "Items that are stored together: a power cut leaves all of them old or all of them new. What is written often is better kept apart from the calibration.",
        Key.Required("items", Items, "Its items in the order of their addresses."),
        Key.Optional("written", Written, "How often it is written: `at the factory`, `at calibration`, `at every reading`, a time such as every 1 h, or 10 per day.", "`at calibration` where it keeps what a calibration leaves, else 1 per day"),
        Key.Optional("version", new IntegerShape(1, 254), "Version of its layout, the first byte of a copy.", "1 where a mark is kept, else none is stored"),
        Key.Optional("copies", new IntegerShape(1, 3), "How many times it is kept.", "as often as the memory says"),
        Key.Optional("at", Addresses, "Addresses of its copies.", "behind what is before it"),
        Key.Optional("older", new ListShape(Older, 1, 8), "Layouts of earlier revisions that are taken over."));

    public static readonly MapShape Shape = new(
        "memory",
        "Settings memory.",
        Key.Required("size", Shapes.Quantity(UnitSets.Memory, f => f.Positive()), "Size."),
        Key.Optional("endurance", Shapes.Quantity(UnitSets.Writes, f => f.Positive()), "Writes that each byte endures."),
        Key.Optional("life", Shapes.Time, "How long the instrument is used.", "10 years"),
        Key.Optional("order", new WordShape("little endian", "big endian"), "Order of bytes.", "little endian"),
        Key.Optional("copies", new IntegerShape(1, 3), "How many times every record is kept.", "2"),
        Key.Optional(
            "guard", Guards,
            "What follows the bytes of every copy so that a wrong one is noticed: the lowest eight bits of their sum, or a cyclic redundancy check (`crc-8`: x⁸+x²+x+1; `crc-16`: 0x1021 from 0xFFFF; `crc-32`: that of IEEE 802.3).",
            "crc-16"),
        Key.Optional("mark", Shapes.Flag, "Whether the first byte of a copy is its version, and 0 while the copy is being written.", "true"),
        Key.Optional("copies written", new WordShape([.. MemoryWords.Orders.Select(o => o.Word)]), "Whether a copy is whole before the next one is begun.", "one after the other"),
        Key.Optional("items", Items, "The items of a memory with a single record."),
        Key.Optional("records", new DictionaryShape("records by name", new TextShape("a record's name"), Record, 1, 16), "Records by name, each stored as a whole."))
    {
        Example = "memory: { size: 256 B, endurance: 100 k writes, life: 15 years, copies: 2, guard: crc-16, records: { calibration: { version: 1, items: [{ keeps: zero }, { keeps: gain }] }, "
            + "choices: { written: 1 per day, items: [{ name: alarm on, kind: bool, factory: true }] } } }",
    };

    public static MemorySection? Read(MapView map)
    {
        if (map.Quantity("size") is not { } size)
        {
            return null;
        }

        ImmutableArray<MemoryRecord>.Builder records = ImmutableArray.CreateBuilder<MemoryRecord>();
        HashSet<string> names = [];
        if (map.Raw("items") is ListNode own)
        {
            if (map.Has("records"))
            {
                map.Report(Codes.SaidTwice, own.Span, "The memory has items of its own beside its records.", "`items` or `records`", "both", "move the items into a record");
            }

            ImmutableArray<MemoryItem> items = ReadItems(own, map, names, isOlder: false);
            records.Add(new MemoryRecord { Name = new Located<string>(OwnRecord, map.Map.KeyNode("items")?.Span ?? map.Span), Items = items, Written = DefaultUse(items, own.Span), Span = own.Span });
        }

        foreach (MapEntry entry in map.Raw("records") is MapNode recordMap ? recordMap.Entries : [])
        {
            if (entry.Value is MapNode node)
            {
                records.Add(ReadRecord(new Located<string>(entry.Key.Text, entry.Key.Span), new MapView(node, Record, map.Context), names));
            }
        }

        return new MemorySection
        {
            Size = size,
            Endurance = map.Quantity("endurance"),
            Life = map.Quantity("life"),
            IsBigEndian = map.Word("order")?.Value == "big endian",
            Copies = map.Integer("copies") ?? 2,
            CopiesPlace = map.Has("copies") ? map.PlaceOf("copies") : null,
            Guard = map.Word("guard") is { } guard ? new Located<MemoryGuard>(GuardOf(guard.Value), guard.Span) : null,
            IsMarked = map.Flag("mark") ?? true,
            MarkPlace = map.Has("mark") ? map.PlaceOf("mark") : null,
            Order = map.Word("copies written") is { } order ? MemoryWords.Orders.First(o => o.Word == order.Value).Order : CopyOrder.OneAfterTheOther,
            OrderPlace = map.Has("copies written") ? map.PlaceOf("copies written") : null,
            Records = records.ToImmutable(),
            Span = map.Span,
        };
    }

    private static MemoryRecord ReadRecord(Located<string> name, MapView map, HashSet<string> names)
    {
        ImmutableArray<MemoryItem> items = map.Raw("items") is ListNode list ? ReadItems(list, map, names, isOlder: false) : [];
        Located<int>? version = map.Integer("version") is { } number ? new Located<int>(number, map.PlaceOf("version")) : null;
        ImmutableArray<OlderLayout>.Builder older = ImmutableArray.CreateBuilder<OlderLayout>();
        HashSet<int> versions = version is null ? [1] : [version.Value.Value];
        foreach (MapNode node in map.Raw("older") is ListNode layouts ? layouts.Items.OfType<MapNode>() : [])
        {
            MapView old = new(node, Older, map.Context);
            if (old.Integer("version") is not { } was)
            {
                continue;
            }

            if (!versions.Add(was))
            {
                old.Report(Codes.DuplicateName, old.PlaceOf("version"), "Two layouts of the record have the same version.", "each version once", was.ToString(CultureInfo.InvariantCulture));
            }

            older.Add(new OlderLayout
            {
                Version = new Located<int>(was, old.PlaceOf("version")),
                Items = old.Raw("items") is ListNode oldItems ? ReadItems(oldItems, old, [], isOlder: true) : [],
                Guard = old.Word("guard") is { } guard ? GuardOf(guard.Value) : null,
                Addresses = ReadAddresses(old),
                Span = old.Span,
            });
        }

        return new MemoryRecord
        {
            Name = name,
            Items = items,
            Written = ReadUse(map) ?? DefaultUse(items, name.Span),
            Version = version,
            Copies = map.Integer("copies"),
            Addresses = ReadAddresses(map),
            Older = older.ToImmutable(),
            Span = map.Span,
        };
    }

    private static ImmutableArray<MemoryItem> ReadItems(ListNode list, MapView owner, HashSet<string> names, bool isOlder)
    {
        ImmutableArray<MemoryItem>.Builder items = ImmutableArray.CreateBuilder<MemoryItem>();
        foreach (MapNode node in list.Items.OfType<MapNode>())
        {
            MapView item = new(node, isOlder ? OldItem : Item, owner.Context);
            Located<string>? keeps = item.Word("keeps");
            if ((keeps ?? item.Text("name")) is not { } name)
            {
                continue;
            }

            if (!names.Add(name.Value))
            {
                item.Report(Codes.DuplicateName, name.Span, $"Two items are called `{ScalarNode.Short(name.Value)}`.", "each name once", $"`{ScalarNode.Short(name.Value)}`");
            }

            Located<string>? kind = item.Word("kind");
            if (!isOlder && keeps is null && !item.Has("kind"))
            {
                item.Report(Codes.Missing, name.Span, "An item that keeps nothing of the instrument needs the word it is stored as.", "`kind`", "no kind", "add for example `kind: u16`");
            }

            if (!isOlder && keeps is not null && DecidedKeys.FirstOrDefault(item.Has) is { } decided)
            {
                item.Report(
                    Codes.SaidTwice, item.PlaceOf(decided), $"What the item keeps decides its {decided}.", $"no `{decided}`", $"`{decided}` beside `keeps: {name.Value}`", $"leave `{decided}` out");
            }

            items.Add(new MemoryItem
            {
                Name = name,
                Keeps = keeps is { } kept ? MemoryWords.Keeps.First(k => k.Word == kept.Value).Keeps : null,
                Kind = kind is { } word ? new Located<MemoryKind>(MemoryWords.Kinds.First(k => k.Word == word.Value).Kind, word.Span) : null,
                Factory = ReadFactory(item),
                Accepted = item.Range("accepted"),
                Test = item.Word("test") is { } test ? MemoryWords.Tests.First(t => t.Word == test.Value).Test : AcceptanceTest.AcceptedInside,
                TestPlace = item.Has("test") ? item.PlaceOf("test") : null,
                Step = ReadStep(item),
                Span = item.Span,
            });
        }

        return items.ToImmutable();
    }

    private static Located<double>? ReadFactory(MapView item) =>
        item.Flag("factory") is { } flag ? new Located<double>(flag ? 1 : 0, item.PlaceOf("factory"))
        : item.Quantity("factory") is { } number ? new Located<double>(number.Value, number.Span)
        : null;

    /// <summary>In the measurand's unit where it is of the measurand's kind, else in SI.</summary>
    private static Quantity? ReadStep(MapView item)
    {
        if (item.Parsed("step") is not var (parsed, node))
        {
            return null;
        }

        return !parsed.IsBare && item.Context.Measurand is { } measurand && parsed.Dimension == measurand.Dimension
            ? measurand.Convert(parsed, node, item.Context.Sink)
            : parsed.ToQuantity(node.Span, node.Text);
    }

    private static ImmutableArray<Located<int>> ReadAddresses(MapView map) =>
        map.Raw("at") is ListNode list
            ? [.. list.Items.OfType<ScalarNode>().Where(s => s.Type == ScalarType.Number && s.Number is >= 0 and <= GreatestAddress).Select(s => new Located<int>((int)s.Number, s.Span))]
            : [];

    private static WritingUse? ReadUse(MapView map)
    {
        if (map.Raw("written") is not ScalarNode node)
        {
            return null;
        }

        if (map.Word("written") is { } word)
        {
            return new WritingUse(MemoryWords.Occasions.First(o => o.Word == word.Value).Occasion, 0, word.Value, node.Span);
        }

        return TryPerDay(node.Text, out int count) && node.Type == ScalarType.Text ? new WritingUse(WritingOccasion.Interval, SecondsPerDay / count, node.Text.Trim(), node.Span)
            : map.Quantity("written") is { } time ? new WritingUse(WritingOccasion.Interval, time.Value, node.Text.StartsWith("every", StringComparison.Ordinal) ? node.Text : "every " + node.Text, node.Span)
            : null;
    }

    private static WritingUse DefaultUse(ImmutableArray<MemoryItem> items, SourceSpan place) =>
        items.Any(i => i.Keeps is { } keeps && MemoryWords.IsCalibration(keeps))
            ? new WritingUse(WritingOccasion.AtCalibration, 0, "at calibration", place)
            : new WritingUse(WritingOccasion.Interval, SecondsPerDay, "1 per day", place);

    private static MemoryGuard GuardOf(string word) => MemoryWords.Guards.First(g => g.Word == word).Guard;

    private static bool TryPerDay(string text, out int count)
    {
        count = 0;
        string[] parts = text.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        return parts is [var number, "per", "day"] && text[0] != ' ' && text[^1] != ' ' && number.Length <= 6 && number[0] is >= '1' and <= '9' && number.All(char.IsAsciiDigit)
            && int.TryParse(number, NumberStyles.None, CultureInfo.InvariantCulture, out count);
    }
}
